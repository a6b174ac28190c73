//! The foot of every printed page: bars to measure the print by, what it shows, what its lines mean.

use super::font::Face;
use super::ink::Ink;
use super::page::{Look, Page};
use super::tiles::{FOOT, Grid, MARGIN, Tile};

/// What the foot of a page says.
pub(super) struct Foot<'a> {
    /// `blank A1`.
    pub(super) name: String,
    /// `page 2 of 7`.
    pub(super) page: String,
    pub(super) lines: &'a [String],
    pub(super) tile: Option<(&'a Grid, Tile)>,
    /// The inks on the sheet, each with its meaning.
    pub(super) legend: &'a [(Ink, &'static str)],
}

const BLACK: [u8; 3] = [0, 0, 0];
const GREY: [u8; 3] = [90, 90, 90];
const BAR: Look = Look {
    colour: BLACK,
    wide: 0.2,
    dashes: &[],
};

pub(super) fn draw(page: &mut Page<'_, '_>, wide: f64, foot: &Foot<'_>) {
    let (left, right) = (MARGIN, wide - MARGIN);
    let top = MARGIN + FOOT;
    page.line(BAR, [left, top - 1.0], [right, top - 1.0]);
    bar(page, [left, MARGIN + 25.0], 100.0, 10.0, "100 mm");
    bar(page, [left, MARGIN + 14.5], 101.6, 25.4, "4 in");
    page.say([left, MARGIN + 7.0], 3.6, BLACK, "MEASURE BEFORE CUTTING");
    page.say(
        [left, MARGIN + 3.2],
        2.3,
        BLACK,
        "The upper bar is 100 mm long, the lower 4 in, each on paper laid flat. If not,",
    );
    page.say(
        [left, MARGIN + 0.2],
        2.3,
        BLACK,
        "print again at 100 %, actual size, without fitting to the page. Measure before cutting.",
    );
    let x = left + 106.0;
    page.say([x, top - 7.0], 5.0, BLACK, &foot.name);
    let after = x + page.face.width(&foot.name) * 5.0 + 3.0;
    page.say([after, top - 7.0], 2.6, GREY, &foot.page);
    let map = foot.tile.map_or(0.0, |(grid, tile)| {
        small_map(page, [right, top - 2.5], grid, tile)
    });
    let mut y = top - 10.8;
    for (index, line) in foot.lines.iter().enumerate() {
        // The map stands beside the first lines.
        let room = right - x - if index < 3 { map } else { 0.0 };
        let line = fitting(page.face, line, 2.4, room);
        page.say([x, y], 2.4, BLACK, &line);
        y -= 3.3;
    }
    let columns = if right - x > 130.0 { 3 } else { 2 };
    let step = (right - x) / columns as f64;
    for (index, (ink, meaning)) in foot.legend.iter().enumerate() {
        let (column, row) = (index % columns, index / columns);
        let at = [x + step * column as f64, y - 0.6 - 3.4 * row as f64];
        if *ink == Ink::Centre {
            let look = Look::from(*ink);
            page.line(look, [at[0] + 3.0, at[1] + 0.8], [at[0] + 7.0, at[1] + 0.8]);
            page.line(look, [at[0] + 5.0, at[1] - 1.2], [at[0] + 5.0, at[1] + 2.8]);
        } else {
            page.line(
                Look::from(*ink),
                [at[0], at[1] + 0.8],
                [at[0] + 9.4, at[1] + 0.8],
            );
        }
        page.say([at[0] + 10.6, at[1]], 2.4, BLACK, meaning);
    }
}

/// A bar of an exact length, with a stroke at each step.
fn bar(page: &mut Page<'_, '_>, [x, y]: [f64; 2], long: f64, step: f64, text: &str) {
    page.line(BAR, [x, y], [x + long, y]);
    let mut at = 0.0;
    while at < long + step / 2.0 {
        let end = at < step / 2.0 || at > long - step / 2.0;
        let tall = if end { 3.5 } else { 1.8 };
        page.line(BAR, [x + at, y], [x + at, y + tall]);
        at += step;
    }
    page.say([x + 2.0, y + 1.9], 2.8, BLACK, text);
}

/// Which page of the sheet this is, upper right corner at `corner`; the width it takes.
fn small_map(page: &mut Page<'_, '_>, corner: [f64; 2], grid: &Grid, tile: Tile) -> f64 {
    let across = grid.columns.max(grid.rows) as f64;
    let [wide, tall] = grid.window;
    let scale = 11.0 / (across * wide.max(tall));
    let cell = [wide * scale, tall * scale];
    let left = corner[0] - cell[0] * grid.columns as f64;
    let top = corner[1];
    for each in grid.tiles() {
        let at = [
            left + cell[0] * each.column as f64,
            top - cell[1] * (each.row + 1) as f64,
        ];
        if each == tile {
            page.filled(GREY, at, cell);
        }
        page.rectangle(Look { wide: 0.12, ..BAR }, at, cell);
    }
    corner[0] - left + 2.0
}

/// As much of a text as has room.
pub(super) fn fitting(face: &Face, text: &str, size: f64, room: f64) -> String {
    if face.width(text) * size <= room {
        return text.to_owned();
    }
    let mut kept = String::new();
    for c in text.chars() {
        let mut longer = kept.clone();
        longer.push(c);
        if (face.width(&longer) + face.width("…")) * size > room {
            break;
        }
        kept = longer;
    }
    kept.push('…');
    kept
}
