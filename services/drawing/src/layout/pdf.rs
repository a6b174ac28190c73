//! A layout as PDF: a page of notes, then each sheet at full size, cut into pages that can be taped together.

use krilla::Document;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use shared_types::PartPlan;

use super::canvas::Canvas;
use super::font::Face;
use super::foot::{self, Foot, fitting};
use super::ink::{INKS, Ink};
use super::notes::Line;
use super::page::{Look, Page, points};
use super::tiles::{FOOT, Grid, MARGIN, OVERLAP, Paper, Tile};
use super::{Layout, LayoutError};

/// Registration marks have a colour of their own: a person and a test find them by it.
const MARK: Look = Look {
    colour: [200, 0, 140],
    wide: 0.13,
    dashes: &[],
};
const SEAM: Look = Look {
    colour: [170, 170, 170],
    wide: 0.1,
    dashes: &[1.0, 2.0],
};
const FRAME: Look = Look {
    colour: [200, 200, 200],
    wide: 0.1,
    dashes: &[],
};
const BLACK: [u8; 3] = [0, 0, 0];

pub(super) fn write(layout: &Layout, paper: Paper) -> Result<Vec<u8>, LayoutError> {
    let grids: Vec<Grid> = layout
        .canvases
        .iter()
        .map(|canvas| {
            Grid::over(canvas.bounds(), paper).ok_or_else(|| LayoutError::TooLarge {
                sheet: canvas.title.clone(),
            })
        })
        .collect::<Result<_, _>>()?;
    let face = Face::read();
    let notes = paged(&layout.notes, &face, paper);
    let sheets: usize = grids.iter().map(|grid| grid.columns * grid.rows).sum();
    let mut printed = Printed {
        document: Document::new(),
        face: &face,
        lines: about(&layout.plan),
        pages: notes.len() + sheets,
        page: 0,
    };
    printed.document.set_metadata(
        Metadata::new()
            .title(format!(
                "{} {}: layout at full size",
                layout.plan.part, layout.plan.title
            ))
            .creator("oddleg".to_owned())
            .language("en".to_owned()),
    );
    for page in &notes {
        printed.notes(page, paper)?;
    }
    for (canvas, grid) in layout.canvases.iter().zip(&grids) {
        for tile in grid.tiles() {
            printed.tile(canvas, grid, tile)?;
        }
    }
    printed.document.finish().map_err(|error| LayoutError::Pdf {
        why: format!("{error:?}"),
    })
}

fn about(plan: &PartPlan) -> Vec<String> {
    let sheet = &plan.sheet;
    let inches = sheet.thickness.exact_inches();
    let inches = inches
        .map(|inches| format!(" ({inches} in)"))
        .unwrap_or_default();
    vec![
        format!("{}  {}", plan.part, plan.title),
        format!("{}, {}{inches} thick", sheet.alloy, sheet.thickness),
        format!("revision {}", plan.digest.get(..12).unwrap_or(&plan.digest)),
        "Guidance, not acceptance. Every sheet edge cuts: wear gloves.".to_owned(),
    ]
}

struct Printed<'f> {
    document: Document,
    face: &'f Face,
    lines: Vec<String>,
    pages: usize,
    page: usize,
}

impl Printed<'_> {
    fn settings([wide, tall]: [f64; 2]) -> Result<PageSettings, LayoutError> {
        PageSettings::from_wh(points(wide), points(tall)).ok_or_else(|| LayoutError::Pdf {
            why: "the page has no size".to_owned(),
        })
    }

    fn number(&mut self) -> String {
        self.page += 1;
        format!("page {} of {}", self.page, self.pages)
    }

    fn notes(&mut self, lines: &[Set], paper: Paper) -> Result<(), LayoutError> {
        let size = paper.upright();
        let number = self.number();
        let mut page = self.document.start_page_with(Self::settings(size)?);
        let mut on = Page {
            surface: page.surface(),
            face: self.face,
            tall: size[1],
        };
        for set in lines {
            on.say(set.at, set.size, BLACK, &set.text);
        }
        let foot = Foot {
            name: "notes".to_owned(),
            page: number,
            lines: &self.lines,
            tile: None,
            legend: &[],
        };
        foot::draw(&mut on, size[0], &foot);
        drop(on);
        page.finish();
        Ok(())
    }

    fn tile(&mut self, canvas: &Canvas, grid: &Grid, tile: Tile) -> Result<(), LayoutError> {
        let number = self.number();
        let mut page = self.document.start_page_with(Self::settings(grid.page)?);
        let mut on = Page {
            surface: page.surface(),
            face: self.face,
            tall: grid.page[1],
        };
        let [x, y] = grid.corner(tile);
        let by = [MARGIN - x, MARGIN + FOOT - y];
        let corner = [MARGIN, MARGIN + FOOT];
        on.rectangle(FRAME, corner, grid.window);
        on.only(corner, grid.window);
        seams(&mut on, grid, tile, corner);
        // What is cut lies on top of everything written.
        let under = [Ink::Dimension, Ink::Hidden];
        let above = INKS.into_iter().filter(|ink| !under.contains(ink));
        for ink in under {
            strokes(&mut on, canvas, ink, by);
        }
        for words in &canvas.words {
            on.words(words, by);
        }
        for ink in above {
            strokes(&mut on, canvas, ink, by);
        }
        on.whole();
        marks(&mut on, grid, tile, by);
        let foot = Foot {
            name: format!("{} {tile}", canvas.name),
            page: number,
            lines: &self.lines,
            tile: Some((grid, tile)),
            legend: &legend(canvas),
        };
        foot::draw(&mut on, grid.page[0], &foot);
        drop(on);
        page.finish();
        Ok(())
    }
}

fn strokes(on: &mut Page<'_, '_>, canvas: &Canvas, ink: Ink, by: [f64; 2]) {
    let same = canvas.strokes.iter().filter(|(own, _)| *own == ink);
    for (ink, shape) in same {
        on.stroke(Look::from(*ink), shape, by);
    }
}

/// The middle of each overlap, where two pages may be cut and butted instead of lapped.
fn seams(on: &mut Page<'_, '_>, grid: &Grid, tile: Tile, [x, y]: [f64; 2]) {
    let [wide, tall] = grid.window;
    let half = OVERLAP / 2.0;
    let upright = [
        (tile.column > 0, x + half),
        (tile.column + 1 < grid.columns, x + wide - half),
    ];
    for (_, at) in upright.into_iter().filter(|(there, _)| *there) {
        on.line(SEAM, [at, y], [at, y + tall]);
    }
    let level = [
        (tile.row + 1 < grid.rows, y + half),
        (tile.row > 0, y + tall - half),
    ];
    for (_, at) in level.into_iter().filter(|(there, _)| *there) {
        on.line(SEAM, [x, at], [x + wide, at]);
    }
}

/// Ringed crosses at places that the neighbour shows too.
fn marks(on: &mut Page<'_, '_>, grid: &Grid, tile: Tile, by: [f64; 2]) {
    for (place, pair) in grid.marks() {
        if !pair.contains(&tile) {
            continue;
        }
        let [x, y] = [place[0] + by[0], place[1] + by[1]];
        on.line(MARK, [x - 4.0, y], [x + 4.0, y]);
        on.line(MARK, [x, y - 4.0], [x, y + 4.0]);
        on.circle(MARK, [x, y], 2.0);
        let text = format!("{} {}", pair[0], pair[1]);
        on.say([x + 2.2, y + 1.4], 1.9, MARK.colour, &text);
    }
}

/// The inks on a sheet, with what they mean there.
fn legend(canvas: &Canvas) -> Vec<(Ink, &'static str)> {
    let blocks = canvas.name.starts_with("blocks");
    let meanings = [
        (
            Ink::Cut,
            if blocks {
                "outline of the block"
            } else {
                "cut"
            },
        ),
        (Ink::Section, "section"),
        (
            Ink::Bend,
            if blocks {
                "rounding begins"
            } else {
                "bend tangent line"
            },
        ),
        (Ink::Scribe, "sight line, relief hole"),
        (Ink::Centre, "middle of a hole"),
        (Ink::Hidden, "edge behind"),
    ];
    let there = |ink: Ink| canvas.strokes.iter().any(|(own, _)| *own == ink);
    meanings
        .into_iter()
        .filter(|(ink, _)| there(*ink))
        .collect()
}

/// A text set on a page.
struct Set {
    at: [f64; 2],
    size: f64,
    text: String,
}

const BODY: f64 = 2.8;
const HEADING: f64 = 4.0;
/// Where the cells of a row begin, and where the last one ends.
const CELLS: [f64; 6] = [0.0, 7.0, 78.0, 96.0, 112.0, 190.0];

/// The notes set in lines and pages.
fn paged(lines: &[Line], face: &Face, paper: Paper) -> Vec<Vec<Set>> {
    let [wide, tall] = paper.upright();
    let (left, room) = (MARGIN, wide - 2.0 * MARGIN);
    let top = tall - MARGIN;
    let floor = MARGIN + FOOT + 3.0;
    let mut pages: Vec<Vec<Set>> = vec![Vec::new()];
    let mut y = top;
    let mut put = |cells: Vec<(f64, String)>, size: f64, before: f64, keep: f64| {
        y -= before + 1.35 * size;
        if y - keep < floor {
            pages.push(Vec::new());
            y = top - 1.35 * size;
        }
        let page = pages.last_mut().expect("there is one");
        for (x, text) in cells {
            let at = [left + x, y];
            page.push(Set { at, size, text });
        }
    };
    for line in lines {
        match line {
            // Never the last line of a page.
            Line::Heading(text) => put(vec![(0.0, text.clone())], HEADING, 2.5, 3.0 * BODY),
            Line::Text(text) => {
                for part in wrapped(face, text, BODY, room) {
                    put(vec![(0.0, part)], BODY, 0.0, 0.0);
                }
            }
            Line::Row(cells) => {
                for (set, keep) in row(face, cells) {
                    put(set, BODY, 0.0, keep);
                }
            }
        }
    }
    pages
}

/// The lines of a row, each with the room that those after it need, so that a page never parts them. A name cut
/// short would leave two rows alike, so that its cell is broken instead.
fn row(face: &Face, cells: &[String; 5]) -> Vec<(Vec<(f64, String)>, f64)> {
    let mut lines: Vec<Vec<(f64, String)>> = Vec::new();
    for (text, place) in cells.iter().zip(CELLS.windows(2)) {
        let room = place[1] - place[0] - 1.5;
        for (index, part) in wrapped(face, text, BODY, room).iter().enumerate() {
            if lines.len() == index {
                lines.push(Vec::new());
            }
            lines[index].push((place[0], fitting(face, part, BODY, room)));
        }
    }
    let mut keep = lines.len() as f64 * 1.35 * BODY;
    lines
        .into_iter()
        .map(|line| {
            keep -= 1.35 * BODY;
            (line, keep)
        })
        .collect()
}

fn wrapped(face: &Face, text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if face.width(&format!("{line} {word}")) * size <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
