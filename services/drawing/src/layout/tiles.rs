//! A sheet cut into pages: how many, and which part of it each one shows.

use std::fmt;

/// The paper it is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm.
    A4,
    /// 8 1/2 × 11 in.
    Letter,
}

impl Paper {
    /// Upright, in millimetres.
    pub(crate) const fn upright(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::Letter => [215.9, 279.4],
        }
    }
}

/// What no printer can print on, and a little more: office printers leave 4 to 6 mm.
pub(crate) const MARGIN: f64 = 10.0;
/// The foot of a page: check bars, what it is, what lines mean.
pub(crate) const FOOT: f64 = 36.0;
/// What two neighbouring pages both show: room for tape and for marks.
pub(crate) const OVERLAP: f64 = 15.0;
/// Round the drawing.
const CLEAR: f64 = 3.0;
/// Columns and rows: a sheet of 2.4 m on A4 has 14, and nobody tapes more.
pub(crate) const SIDE_MAX: usize = 26;

/// How a sheet lies on pages.
#[derive(Clone, Debug)]
pub(crate) struct Grid {
    /// Width and height of a page.
    pub(crate) page: [f64; 2],
    /// Width and height of what a page shows.
    pub(crate) window: [f64; 2],
    pub(crate) columns: usize,
    pub(crate) rows: usize,
    /// The sheet's place in the lower left corner of the window of the lower left page.
    origin: [f64; 2],
}

/// One page: its row from above and its column from the left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Tile {
    pub(crate) row: usize,
    pub(crate) column: usize,
}

/// `A1` is above on the left.
impl fmt::Display for Tile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let row = u8::try_from(self.row).map_or('?', |row| char::from(b'A' + row.min(25)));
        write!(f, "{row}{}", self.column + 1)
    }
}

impl Grid {
    /// The way of laying a page that takes fewer pages; upright where it makes no difference.
    /// Nothing where there would be more than [`SIDE_MAX`] in a row.
    pub(crate) fn over([left, right, bottom, top]: [f64; 4], paper: Paper) -> Option<Self> {
        let sheet = [right - left + 2.0 * CLEAR, top - bottom + 2.0 * CLEAR];
        let [short, tall] = paper.upright();
        let laid = |page: [f64; 2]| {
            let window = [page[0] - 2.0 * MARGIN, page[1] - 2.0 * MARGIN - FOOT];
            let count = |axis: usize| {
                (1..=SIDE_MAX).find(|n| covers(*n, window[axis]) >= sheet[axis] - 1e-6)
            };
            let (columns, rows) = (count(0)?, count(1)?);
            let spare = [
                covers(columns, window[0]) - sheet[0],
                covers(rows, window[1]) - sheet[1],
            ];
            Some(Self {
                page,
                window,
                columns,
                rows,
                origin: [
                    left - CLEAR - spare[0] / 2.0,
                    bottom - CLEAR - spare[1] / 2.0,
                ],
            })
        };
        let ways = [laid([short, tall]), laid([tall, short])];
        let pages = |grid: &Self| grid.columns * grid.rows;
        ways.into_iter().flatten().min_by_key(pages)
    }

    pub(crate) fn tiles(&self) -> impl Iterator<Item = Tile> {
        let columns = self.columns;
        (0..self.rows).flat_map(move |row| (0..columns).map(move |column| Tile { row, column }))
    }

    /// The sheet's place in the lower left corner of a page's window.
    pub(crate) fn corner(&self, tile: Tile) -> [f64; 2] {
        let above = self.rows - 1 - tile.row;
        [
            self.origin[0] + tile.column as f64 * (self.window[0] - OVERLAP),
            self.origin[1] + above as f64 * (self.window[1] - OVERLAP),
        ]
    }

    /// Marks that two neighbouring pages share, in the middle of their overlap: where, and for which pages.
    pub(crate) fn marks(&self) -> Vec<([f64; 2], [Tile; 2])> {
        let mut marks = Vec::new();
        for tile in self.tiles() {
            let [x, y] = self.corner(tile);
            let beside = Tile {
                column: tile.column + 1,
                ..tile
            };
            if beside.column < self.columns {
                let x = x + self.window[0] - OVERLAP / 2.0;
                marks.extend(PLACES.map(|part| ([x, y + part * self.window[1]], [tile, beside])));
            }
            let below = Tile {
                row: tile.row + 1,
                ..tile
            };
            if below.row < self.rows {
                let y = y + OVERLAP / 2.0;
                marks.extend(PLACES.map(|part| ([x + part * self.window[0], y], [tile, below])));
            }
        }
        marks
    }
}

/// Two marks on each seam, far apart, so that a sheet cannot be taped askew.
const PLACES: [f64; 2] = [0.2, 0.8];

/// How much so many pages in a row show.
fn covers(pages: usize, window: f64) -> f64 {
    window + (pages - 1) as f64 * (window - OVERLAP)
}
