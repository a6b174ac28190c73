//! Pages laid on one another by their marks, as one sheet, and held against the plan.

use std::collections::HashMap;

use crate::geometry::Piece;
use crate::raster::{DOTS_IN_MM, Page};

/// Two marks on a seam must say the same to within this, or the page lies askew.
const APART_MAX: f64 = 0.7;

pub(crate) struct Sheet {
    /// Each page with its place on the sheet, in dots from the upper left corner of the first.
    pages: Vec<(Page, [f64; 2])>,
}

impl Sheet {
    /// Lays each page on its left or upper neighbour.
    pub(crate) fn of(pages: Vec<Page>) -> Result<Self, Vec<String>> {
        assert!(!pages.is_empty());
        let marks: Vec<Vec<[f64; 2]>> = pages.iter().map(Page::marks).collect();
        let index: HashMap<(usize, usize), usize> = pages
            .iter()
            .enumerate()
            .map(|(at, page)| (page.at, at))
            .collect();
        let mut places: Vec<Option<[f64; 2]>> = vec![None; pages.len()];
        places[0] = Some([0.0, 0.0]);
        let mut faults = Vec::new();
        for (at, page) in pages.iter().enumerate() {
            let (row, column) = page.at;
            let beside = column.checked_sub(1).map(|left| (row, left));
            let above = row.checked_sub(1).map(|up| (up, column));
            for (neighbour, axis) in [(beside, 0), (above, 1)] {
                let Some(other) = neighbour.map(|name| index[&name]) else {
                    continue;
                };
                let moved = match shared(&pages[other], &marks[other], page, &marks[at], axis) {
                    Ok(moved) => moved,
                    Err(fault) => {
                        faults.push(format!("{:?} on {:?}: {fault}", page.at, pages[other].at));
                        continue;
                    }
                };
                let Some(base) = places[other] else { continue };
                let place = [base[0] + moved[0], base[1] + moved[1]];
                match places[at] {
                    None => places[at] = Some(place),
                    Some(was) if far(was, place) < 2.0 * APART_MAX => {}
                    Some(was) => {
                        faults.push(format!("{:?} lies at {was:?} and at {place:?}", page.at))
                    }
                }
            }
        }
        if places.iter().any(Option::is_none) || !faults.is_empty() {
            faults.push(format!("pages laid: {places:?}"));
            return Err(faults);
        }
        let pages = pages.into_iter().zip(places.into_iter().flatten());
        Ok(Self {
            pages: pages.collect(),
        })
    }

    /// Left, right, upper and lower end of what is cut, to the middle of its line.
    fn ends(&self) -> [f64; 4] {
        let mut ends = [f64::MAX, f64::MIN, f64::MAX, f64::MIN];
        for (page, [ox, oy]) in &self.pages {
            let [left, right, upper, lower] = page.window();
            for y in upper..lower {
                for x in left..right {
                    if page.is_black(x, y) {
                        let (x, y) = (x as f64 + 0.5 + ox, y as f64 + 0.5 + oy);
                        ends = [
                            ends[0].min(x),
                            ends[1].max(x),
                            ends[2].min(y),
                            ends[3].max(y),
                        ];
                    }
                }
            }
        }
        // A line of 0.18 mm is 2.1 dots wide: its outermost dot stands half of what is left of that inside.
        const OUT: f64 = 0.55;
        [ends[0] + OUT, ends[1] - OUT, ends[2] + OUT, ends[3] - OUT]
    }

    pub(crate) fn wrong_size(&self, name: &str, axis: usize, mm: f64) -> Option<String> {
        let ends = self.ends();
        let (found, wanted) = (ends[2 * axis + 1] - ends[2 * axis], mm * DOTS_IN_MM);
        // One dot at either end: the renderer sets thin lines on whole dots.
        ((found - wanted).abs() > 2.0)
            .then(|| format!("{name} is {found:.1} dots, expected {wanted:.1}"))
    }

    /// Every stroke is on every page that shows its place; where `alone`, nothing else is black.
    pub(crate) fn wrong_strokes(&self, strokes: &[Piece], alone: bool) -> Vec<String> {
        let samples: Vec<[f64; 2]> = strokes.iter().flat_map(sampled).collect();
        let low = samples.iter().map(|p| p[0]).fold(f64::MAX, f64::min);
        let high = samples.iter().map(|p| p[1]).fold(f64::MIN, f64::max);
        let ends = self.ends();
        let mut wrong = Vec::new();
        let (mut seen, mut twice, mut strays) = (0, 0, 0);
        let mut covered: Vec<Vec<bool>> = self
            .pages
            .iter()
            .map(|(page, _)| vec![false; page.wide * page.tall])
            .collect();
        for [mx, my] in &samples {
            let x = ends[0] + (mx - low) * DOTS_IN_MM;
            let y = ends[2] + (high - my) * DOTS_IN_MM;
            let mut pages = 0;
            for ((page, [ox, oy]), covered) in self.pages.iter().zip(&mut covered) {
                let [left, right, upper, lower] = page.window();
                let (px, py) = ((x - ox) as i64, (y - oy) as i64);
                let inside =
                    |v: i64, low: usize, high: usize| v >= low as i64 + 4 && v < high as i64 - 4;
                if !inside(px, left, right) || !inside(py, upper, lower) {
                    continue;
                }
                pages += 1;
                let mut black = false;
                for dy in -3..=3_i64 {
                    for dx in -3..=3_i64 {
                        let (qx, qy) = ((px + dx) as usize, (py + dy) as usize);
                        covered[qy * page.wide + qx] = true;
                        black |= dx.abs() <= 1 && dy.abs() <= 1 && page.is_black(qx, qy);
                    }
                }
                if !black && wrong.len() < 5 {
                    wrong.push(format!(
                        "nothing is black at {mx:.2}, {my:.2} mm on page {:?}",
                        page.at
                    ));
                }
            }
            seen += usize::from(pages > 0);
            twice += usize::from(pages > 1);
        }
        if seen != samples.len() {
            wrong.push(format!(
                "{} of {} places are on no page",
                samples.len() - seen,
                samples.len()
            ));
        }
        if self.pages.len() > 1 && twice == 0 {
            wrong.push("no place is on two pages".to_owned());
        }
        for ((page, _), covered) in self.pages.iter().zip(&covered) {
            let [left, right, upper, lower] = page.window();
            for y in upper + 4..lower - 4 {
                for x in left + 4..right - 4 {
                    strays += usize::from(page.is_black(x, y) && !covered[y * page.wide + x]);
                }
            }
        }
        if alone && strays > 0 {
            wrong.push(format!("{strays} black dots are no stroke of the plan"));
        }
        wrong
    }
}

/// How far the second page lies from the first, by the two marks they share.
fn shared(
    first: &Page,
    first_marks: &[[f64; 2]],
    second: &Page,
    second_marks: &[[f64; 2]],
    axis: usize,
) -> Result<[f64; 2], String> {
    // In the strip along the seam: 15 mm, and the margin or the foot.
    let strip = 15.0 * DOTS_IN_MM;
    let [_, right, _, lower] = first.window();
    let [left, _, upper, _] = second.window();
    let (far_end, near_end) = if axis == 0 {
        (right, left)
    } else {
        (lower, upper)
    };
    let mut own: Vec<[f64; 2]> = first_marks
        .iter()
        .copied()
        .filter(|m| m[axis] > far_end as f64 - strip)
        .collect();
    let mut its: Vec<[f64; 2]> = second_marks
        .iter()
        .copied()
        .filter(|m| m[axis] < near_end as f64 + strip)
        .collect();
    for marks in [&mut own, &mut its] {
        marks.sort_by(|a, b| a[1 - axis].total_cmp(&b[1 - axis]));
    }
    let ([a, b], [c, d]) = (own.as_slice(), its.as_slice()) else {
        return Err(format!(
            "found {} and {} marks, expected two on each",
            own.len(),
            its.len()
        ));
    };
    let moved = [[a[0] - c[0], a[1] - c[1]], [b[0] - d[0], b[1] - d[1]]];
    if far(moved[0], moved[1]) > APART_MAX {
        return Err(format!(
            "one mark says {:?}, the other {:?}",
            moved[0], moved[1]
        ));
    }
    Ok([
        (moved[0][0] + moved[1][0]) / 2.0,
        (moved[0][1] + moved[1][1]) / 2.0,
    ])
}

fn far(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Places along a stroke, at most 0.05 mm apart.
fn sampled(piece: &Piece) -> Vec<[f64; 2]> {
    const STEP: f64 = 0.05;
    let n = &piece.numbers;
    let steps = |long: f64| (long / STEP).ceil().max(1.0) as u32;
    match piece.kind {
        "line" => {
            let (dx, dy) = (n[2] - n[0], n[3] - n[1]);
            let count = steps(dx.hypot(dy));
            let part = |step: u32| f64::from(step) / f64::from(count);
            (0..=count)
                .map(|s| [n[0] + dx * part(s), n[1] + dy * part(s)])
                .collect()
        }
        "circle" => round([n[0], n[1]], n[2], 0.0, std::f64::consts::TAU, &steps),
        _ => {
            // The circle through both ends and the middle of the curve.
            let (ax, ay, bx, by, mx, my) = (n[0], n[1], n[2], n[3], n[4], n[5]);
            let d = 2.0 * (ax * (by - my) + bx * (my - ay) + mx * (ay - by));
            let sq = |x: f64, y: f64| x * x + y * y;
            let cx = (sq(ax, ay) * (by - my) + sq(bx, by) * (my - ay) + sq(mx, my) * (ay - by)) / d;
            let cy = (sq(ax, ay) * (mx - bx) + sq(bx, by) * (ax - mx) + sq(mx, my) * (bx - ax)) / d;
            let at = |x: f64, y: f64| (y - cy).atan2(x - cx);
            let turn = (at(mx, my) - at(ax, ay)).rem_euclid(std::f64::consts::TAU);
            let whole = (at(bx, by) - at(ax, ay)).rem_euclid(std::f64::consts::TAU);
            let sweep = if turn < whole {
                whole
            } else {
                whole - std::f64::consts::TAU
            };
            round(
                [cx, cy],
                (ax - cx).hypot(ay - cy),
                at(ax, ay),
                sweep,
                &steps,
            )
        }
    }
}

fn round(
    [x, y]: [f64; 2],
    r: f64,
    start: f64,
    sweep: f64,
    steps: &dyn Fn(f64) -> u32,
) -> Vec<[f64; 2]> {
    let count = steps(r * sweep.abs());
    (0..=count)
        .map(|step| {
            let at = start + sweep * f64::from(step) / f64::from(count);
            [x + r * at.cos(), y + r * at.sin()]
        })
        .collect()
}
