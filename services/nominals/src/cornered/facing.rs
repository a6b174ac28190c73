//! Which edges of an outline face each other, so that jaws can be laid over both.

use super::outline::Outline;
use crate::contour::{Contour, Piece, apart};

/// Two pieces that jaws can be laid over, and where.
#[derive(Clone, Copy, Debug)]
pub(super) struct Facing {
    pub(super) pair: [usize; 2],
    /// On the flat web's line of the first.
    pub(super) from: [f64; 2],
    /// Outward of the first there, of unit length; outward of the second is the other way.
    pub(super) outward: [f64; 2],
    /// Between the two lines of the flat web.
    pub(super) across: f64,
}

/// All pairs, the lower number first: parallel edges, a straight edge and an arc that bows away from it, and two
/// arcs that bow away from each other.
pub(super) fn facing(outline: &Outline, web: &Contour) -> Vec<Facing> {
    let count = outline.count();
    (0..count)
        .flat_map(|a| (a + 1..count).map(move |b| [a, b]))
        .filter_map(|[a, b]| match (web.piece(a), web.piece(b)) {
            (Piece::Line { .. }, Piece::Line { .. }) => parallel(outline, web, [a, b]),
            (Piece::Line { .. }, Piece::Arc { .. }) => crown(outline, web, [a, b]),
            (Piece::Arc { .. }, Piece::Line { .. }) => {
                let other = crown(outline, web, [b, a])?;
                let [x, y] = other.outward;
                let from = [0, 1].map(|axis| other.from[axis] - other.across * other.outward[axis]);
                Some(Facing {
                    pair: [a, b],
                    from,
                    outward: [-x, -y],
                    across: other.across,
                })
            }
            (Piece::Arc { .. }, Piece::Arc { .. }) => crowns(outline, web, [a, b]),
        })
        .collect()
}

fn parallel(outline: &Outline, web: &Contour, [a, b]: [usize; 2]) -> Option<Facing> {
    let ([ax, ay], [bx, by]) = (outline.along(a)?, outline.along(b)?);
    let wide = |x: i64, y: i64| i128::from(x) * i128::from(y);
    if wide(ax, by) != wide(ay, bx) || wide(ax, bx) + wide(ay, by) >= 0 {
        return None;
    }
    let across = web.inside(web.place(b, 0.5, 0.0), a);
    // Some line square to both must meet both.
    let ends = [0.0, 1.0].map(|part| web.piece(a).beside(web.place(b, part, 0.0)));
    let (low, high) = (ends[0].min(ends[1]).max(0.0), ends[0].max(ends[1]).min(1.0));
    // Off the middle, where holes are.
    let part = low + 0.35 * (high - low);
    (across > 0.0 && low < high).then(|| Facing {
        pair: [a, b],
        from: web.place(a, part, 0.0),
        outward: web.outward(a, part),
        across,
    })
}

/// A straight edge, and the place of an arc farthest from it. A rounding is no edge to lay a jaw on.
fn crown(outline: &Outline, web: &Contour, [line, arc]: [usize; 2]) -> Option<Facing> {
    let Piece::Arc { centre, radius, .. } = *web.piece(arc) else {
        return None;
    };
    if outline.is_rounding(arc) || web.bow(arc)? < 0.0 {
        return None;
    }
    let outward = web.outward(line, 0.0);
    let top = [0, 1].map(|axis| centre[axis] - radius * outward[axis]);
    let across = web.inside(top, line);
    let part = web.piece(line).beside(top);
    (inner(web.piece(arc).beside(top)) && inner(part) && across > 0.0).then(|| Facing {
        pair: [line, arc],
        from: web.place(line, part, 0.0),
        outward,
        across,
    })
}

/// Two arcs where they are farthest apart.
fn crowns(outline: &Outline, web: &Contour, [a, b]: [usize; 2]) -> Option<Facing> {
    let (
        Piece::Arc { centre, radius, .. },
        Piece::Arc {
            centre: other,
            radius: reach,
            ..
        },
    ) = (*web.piece(a), *web.piece(b))
    else {
        return None;
    };
    let rounded = outline.is_rounding(a) || outline.is_rounding(b);
    if rounded || web.bow(a)? < 0.0 || web.bow(b)? < 0.0 {
        return None;
    }
    let far = apart(centre, other);
    // Of one circle any way across will do.
    let outward = if far < 1e6 {
        web.outward(a, 0.5)
    } else {
        [0, 1].map(|axis| (centre[axis] - other[axis]) / far)
    };
    let from = [0, 1].map(|axis| centre[axis] + radius * outward[axis]);
    let to = [0, 1].map(|axis| other[axis] - reach * outward[axis]);
    (inner(web.piece(a).beside(from)) && inner(web.piece(b).beside(to))).then(|| Facing {
        pair: [a, b],
        from,
        outward,
        across: apart(from, to),
    })
}

/// Clear of both ends.
fn inner(part: f64) -> bool {
    part > 1e-6 && part < 1.0 - 1e-6
}
