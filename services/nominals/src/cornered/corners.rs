//! The outline read: a list of corners, or the shorthand of a trapezoid.
//!
//! A corner is a place, or a table that says more of it:
//!
//! ```toml
//! outline = [
//!   ["0 mm", "0 mm"],
//!   { at = ["240 mm", "0 mm"], radius = "25 mm" },              # rounded to that radius
//!   { at = ["240 mm", "90 mm"], through = ["120 mm", "130 mm"] }, # the edge that begins here is an arc through there
//!   ["0 mm", "90 mm"],
//! ]
//! ```

use shared_types::Length;

use super::outline::{Names, Outline, Source};
use crate::contour::Piece;
use crate::form::{At, PlaceOrTable, Table};
use crate::outline::{CORNERS_MAX, in_reach, straight, tell};
use crate::part::dimension;
use crate::polygon::{self, Fault};

/// A corner as it is written.
struct Corner {
    place: [Length; 2],
    radius: Option<Length>,
    through: Option<[Length; 2]>,
    at: At,
}

/// Reads `outline`.
pub(super) fn read(table: &Table<'_>) -> Option<Outline> {
    let expected = "a list of corners such as [\"240 mm\", \"0 mm\"] or { at = [\"240 mm\", \"0 mm\"], radius = \"25 mm\" }";
    let items = table.need("outline").places_or_tables(expected)?;
    if items.len() > CORNERS_MAX {
        table.wrong(
            "outline",
            format!(
                "found {} corners, expected at most {CORNERS_MAX}",
                items.len()
            ),
        );
        return None;
    }
    let corners: Vec<Option<Corner>> = items
        .iter()
        .map(|(item, at)| match item {
            PlaceOrTable::Place(place) => Some(Corner {
                place: *place,
                radius: None,
                through: None,
                at: *at,
            }),
            PlaceOrTable::Table(table) => corner(table, *at),
        })
        .collect();
    let corners: Vec<Corner> = corners.into_iter().collect::<Option<_>>()?;
    let (places, at): (Vec<[Length; 2]>, Vec<At>) = corners
        .iter()
        .map(|corner| (corner.place, corner.at))
        .unzip();
    let (ways, ways_at): (Vec<[Length; 2]>, Vec<At>) = corners
        .iter()
        .filter_map(|corner| Some((corner.through?, corner.at)))
        .unzip();
    let reached = in_reach(table, &places, &at);
    if !in_reach(table, &ways, &ways_at) || !reached {
        return None;
    }
    let curved = corners
        .iter()
        .any(|corner| corner.radius.is_some() || corner.through.is_some());
    if !curved {
        straight(table, &places, &at)?;
    }
    solve(table, &corners)
}

fn corner(table: &Table<'_>, at: At) -> Option<Corner> {
    table.only(&["at", "radius", "through"]);
    let place = table.need("at").place();
    let radius = dimension(table, "radius", false);
    let through = table.may("through").place();
    let sound =
        radius.is_some() == table.has("radius") && through.is_some() == table.has("through");
    Some(Corner {
        place: place.filter(|_| sound)?,
        radius,
        through,
        at,
    })
}

/// The pieces between and at the corners; tells everything that does not go together.
fn solve(table: &Table<'_>, corners: &[Corner]) -> Option<Outline> {
    let at: Vec<At> = corners.iter().map(|corner| corner.at).collect();
    let count = corners.len();
    let exact = |index: usize| corners[index % count].place.map(Length::pm);
    let float = |place: [i64; 2]| place.map(|pm| pm as f64);
    let arcs = corners.iter().filter(|c| c.through.is_some()).count();
    if count < 2 || count + arcs < 3 {
        tell(table, &at, Fault::TooFew);
        return None;
    }
    let mut sound = true;
    let mut wrong = |corner: usize, what: String| {
        table.wrong_item("outline", at[corner % count], what);
        sound = false;
    };
    let mut edges: Vec<Option<Piece>> = Vec::new();
    for (index, corner) in corners.iter().enumerate() {
        let [from, to] = [index, index + 1].map(|index| float(exact(index)));
        if exact(index) == exact(index + 1) {
            wrong(
                index + 1,
                format!(
                    "corner {} lies where the one before it lies, expected it once (the outline closes by itself)",
                    (index + 1) % count + 1
                ),
            );
            edges.push(None);
            continue;
        }
        let edge = match corner.through {
            None => Some(Piece::Line { from, to }),
            Some(via) => {
                let arc = Piece::through(from, float(via.map(Length::pm)), to);
                if arc.is_none() {
                    wrong(
                        index,
                        format!(
                            "through: found {}, {}, which lies in line with corners {} and {}, expected a place beside \
                             that line, which the arc goes through",
                            via[0],
                            via[1],
                            index + 1,
                            (index + 1) % count + 1
                        ),
                    );
                }
                arc
            }
        };
        edges.push(edge);
    }
    let edges: Vec<Piece> = edges.into_iter().collect::<Option<_>>()?;
    // How much of its edges a rounding takes, by its corner.
    let mut taken = vec![0.0; count];
    let mut roundings: Vec<Option<Piece>> = vec![None; count];
    for (index, corner) in corners.iter().enumerate() {
        let before = (index + count - 1) % count;
        let lines = edges[before].is_line() && edges[index].is_line();
        let [there, on] = [before, index].map(|edge| {
            let ([ax, ay], [bx, by]) = (exact(edge), exact(edge + 1));
            [bx - ax, by - ay]
        });
        if lines && polygon::in_line(there, on) {
            wrong(
                index,
                format!(
                    "corner {} lies in line with its neighbours, expected only places where the outline turns",
                    index + 1
                ),
            );
            continue;
        }
        let Some(radius) = corner.radius else {
            continue;
        };
        if !lines {
            wrong(
                index,
                format!(
                    "radius: corner {} lies beside an arc, expected a rounding only between straight edges (an arc of its \
                     own is an edge with through)",
                    index + 1
                ),
            );
            continue;
        }
        let (a, b) = (edges[before].way(1.0), edges[index].way(0.0));
        let turn = (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1]);
        let radius = radius.pm() as f64;
        taken[index] = radius * (turn.abs() / 2.0).tan();
        let side = radius.copysign(turn);
        let [x, y] = float(exact(index));
        // The centre stands square beside where the rounding begins.
        let begin = [x - taken[index] * a[0], y - taken[index] * a[1]];
        roundings[index] = Some(Piece::Arc {
            centre: [begin[0] - side * a[1], begin[1] + side * a[0]],
            radius,
            start: if turn > 0.0 {
                (-a[0]).atan2(a[1])
            } else {
                a[0].atan2(-a[1])
            },
            sweep: turn,
        });
    }
    for (index, edge) in edges.iter().enumerate() {
        let next = (index + 1) % count;
        let both = taken[index] + taken[next];
        if both >= edge.length() && both > 0.0 {
            let what = format!(
                "radius: rounding takes {} of edge {}–{}, which is {} long, expected smaller radii, so that some of the edge \
                 is left",
                super::millimetres(both),
                index + 1,
                next + 1,
                super::millimetres(edge.length())
            );
            wrong(if taken[index] > 0.0 { index } else { next }, what);
        }
    }
    if !sound {
        return None;
    }
    let mut pieces: Vec<(Piece, Source)> = Vec::new();
    for index in 0..count {
        let next = (index + 1) % count;
        let edge = match edges[index] {
            line @ Piece::Line { .. } => {
                let long = line.length();
                let (from, to) = (taken[index] / long, 1.0 - taken[next] / long);
                Piece::Line {
                    from: line.at(from),
                    to: line.at(to),
                }
            }
            arc @ Piece::Arc { .. } => arc,
        };
        if let Some(rounding) = roundings[index] {
            pieces.push((rounding, Source::Rounding(index)));
        }
        pieces.push((edge, Source::Edge(index)));
    }
    let corners = (0..count).map(|index| (exact(index), at[index])).collect();
    let outline = Outline::new(pieces, corners, Names::Numbers);
    uncrossed(table, &outline).then_some(outline)
}

/// Tells where an outline with arcs turns back on itself, or meets itself.
fn uncrossed(table: &Table<'_>, outline: &Outline) -> bool {
    let contour = &outline.contour;
    let back = (0..contour.count()).find(|piece| contour.turns_back(*piece));
    if let Some(piece) = back {
        let what = format!(
            "the outline turns right back on itself where {} begins, expected some width between its edges",
            outline.bare(piece)
        );
        table.wrong_item("outline", outline.at(piece), what);
        return false;
    }
    let (corners, pieces): (Vec<_>, Vec<_>) = contour.chords().into_iter().unzip();
    let crossing = polygon::crossing(&corners);
    if let Some([first, second]) = crossing {
        let what = format!(
            "{} meets {}, expected an outline that does not cross or touch itself",
            outline.bare(pieces[second]),
            outline.bare(pieces[first])
        );
        table.wrong_item("outline", outline.at(pieces[second]), what);
    }
    crossing.is_none()
}

/// Reads `[panel.trapezoid]`: bottom and top edge, the height between them, and how far the top's left end
/// stands to the right of the bottom's.
pub(super) fn trapezoid(table: &Table<'_>) -> Option<Outline> {
    table.only(&["bottom", "top", "height", "offset"]);
    let bottom = dimension(table, "bottom", true);
    let top = dimension(table, "top", true);
    let height = dimension(table, "height", true);
    let offset = table.may("offset").length();
    let (bottom, top, height) = (bottom?.pm(), top?.pm(), height?.pm());
    // In the middle where nothing else is said; half a picometre is far below the grain.
    let offset = match offset {
        Some(offset) => offset.pm(),
        None if table.has("offset") => return None,
        None => (bottom - top) / 2,
    };
    let longest = crate::part::DIMENSION_MAX_MM * shared_types::PM_PER_MM;
    if offset.abs() > longest {
        table.wrong(
            "offset",
            "found more than 10 m, expected how far the top's left end stands to the right of the bottom's",
        );
        return None;
    }
    let corners = [
        [0, 0],
        [bottom, 0],
        [offset + top, height],
        [offset, height],
    ];
    let places = ["bottom", "bottom", "top", "top"].map(|name| table.at_of(name));
    let pieces = (0..4)
        .map(|index| {
            let [from, to] = [index, index + 1].map(|at| corners[at % 4].map(|pm: i64| pm as f64));
            (Piece::Line { from, to }, Source::Edge(index))
        })
        .collect();
    let corners = corners.into_iter().zip(places).collect();
    // Level edges above each other never cross.
    Some(Outline::new(pieces, corners, Names::Trapezoid))
}
