//! A layout as DXF for a cutting table: release 12 in text, which every reader knows; one unit is one
//! millimetre. Places are the plan's own, exact to the picometre.

use std::fmt::{Display, Write as _};

use shared_types::{Length, StrokeShape};

use super::canvas::{Anchor, Canvas, Words};
use super::ink::{INKS, Ink};
use super::svg::decimal;

pub(super) fn write(canvases: &[Canvas]) -> String {
    let mut file = File(String::new());
    file.header(canvases);
    file.tables();
    file.pair(0, "SECTION");
    file.pair(2, "ENTITIES");
    for canvas in canvases {
        for (ink, shape) in &canvas.strokes {
            file.stroke(*ink, shape);
        }
        for words in &canvas.words {
            file.words(words);
        }
    }
    file.pair(0, "ENDSEC");
    file.pair(0, "EOF");
    file.0
}

struct File(String);

impl File {
    fn pair(&mut self, code: u16, value: impl Display) {
        writeln!(self.0, "{code}\n{value}").expect("a String takes all that is written");
    }

    fn place(&mut self, code: u16, x: impl Display, y: impl Display) {
        self.pair(code, x);
        self.pair(code + 10, y);
        self.pair(code + 20, 0);
    }

    fn header(&mut self, canvases: &[Canvas]) {
        let bounds = canvases.iter().map(Canvas::bounds);
        let [left, right, bottom, top] = bounds
            .reduce(|a, b| {
                [
                    a[0].min(b[0]),
                    a[1].max(b[1]),
                    a[2].min(b[2]),
                    a[3].max(b[3]),
                ]
            })
            .unwrap_or_default();
        self.pair(0, "SECTION");
        self.pair(2, "HEADER");
        self.pair(9, "$ACADVER");
        self.pair(1, "AC1009");
        // 4: millimetres. Release 12 did not have it, later readers look for it.
        self.pair(9, "$INSUNITS");
        self.pair(70, 4);
        self.pair(9, "$MEASUREMENT");
        self.pair(70, 1);
        self.pair(9, "$EXTMIN");
        self.place(10, left, bottom);
        self.pair(9, "$EXTMAX");
        self.place(10, right, top);
        self.pair(0, "ENDSEC");
    }

    fn tables(&mut self) {
        self.pair(0, "SECTION");
        self.pair(2, "TABLES");
        self.pair(0, "TABLE");
        self.pair(2, "LTYPE");
        let types: [(&str, &str, &[f64]); 3] = [
            ("CONTINUOUS", "whole line", &[]),
            ("DASHDOT", "dash dot", &[6.0, -1.2, 1.0, -1.2]),
            ("DASHED", "dashes", &[2.4, -1.4]),
        ];
        self.pair(70, types.len());
        for (name, text, dashes) in types {
            self.pair(0, "LTYPE");
            self.pair(2, name);
            self.pair(70, 0);
            self.pair(3, text);
            self.pair(72, 65);
            self.pair(73, dashes.len());
            self.pair(40, dashes.iter().map(|dash| dash.abs()).sum::<f64>());
            for dash in dashes {
                self.pair(49, dash);
            }
        }
        self.pair(0, "ENDTAB");
        self.pair(0, "TABLE");
        self.pair(2, "LAYER");
        self.pair(70, INKS.len());
        for ink in INKS {
            let (colour, line) = ink.dxf();
            self.pair(0, "LAYER");
            self.pair(2, ink.layer());
            self.pair(70, 0);
            self.pair(62, colour);
            self.pair(6, line);
        }
        self.pair(0, "ENDTAB");
        self.pair(0, "ENDSEC");
    }

    fn stroke(&mut self, ink: Ink, shape: &StrokeShape) {
        match *shape {
            StrokeShape::Line { from, to } => {
                self.pair(0, "LINE");
                self.pair(8, ink.layer());
                self.place(10, decimal(from.x), decimal(from.y));
                self.place(11, decimal(to.x), decimal(to.y));
            }
            StrokeShape::Circle { centre, radius } => {
                self.pair(0, "CIRCLE");
                self.round(ink, decimal(centre.x), decimal(centre.y), radius);
            }
            StrokeShape::Arc {
                centre,
                radius,
                start,
                sweep,
            } => {
                // Arcs of DXF go counter-clockwise.
                let end = start.mas() + sweep.mas();
                let (from, to) = if sweep.mas() < 0 {
                    (end, start.mas())
                } else {
                    (start.mas(), end)
                };
                self.pair(0, "ARC");
                self.round(ink, decimal(centre.x), decimal(centre.y), radius);
                self.pair(50, turned(from));
                self.pair(51, turned(to));
            }
        }
    }

    fn round(&mut self, ink: Ink, x: String, y: String, radius: Length) {
        self.pair(8, ink.layer());
        self.place(10, x, y);
        self.pair(40, decimal(radius));
    }

    fn words(&mut self, words: &Words) {
        self.pair(0, "TEXT");
        self.pair(8, Ink::Text.layer());
        self.place(10, words.at[0], words.at[1]);
        self.pair(40, words.size * super::font::CAPITAL);
        self.pair(1, ascii(&words.text));
        self.pair(50, words.degrees);
        let side = match words.anchor {
            Anchor::Start => return,
            Anchor::Middle => 1,
            Anchor::End => 2,
        };
        self.pair(72, side);
        self.place(11, words.at[0], words.at[1]);
    }
}

/// Degrees between 0 and 360.
fn turned(mas: i64) -> f64 {
    mas.rem_euclid(360 * 3_600_000) as f64 / 3_600_000.0
}

/// Text as release 12 has it: ASCII, every other character by its number.
fn ascii(text: &str) -> String {
    let mut plain = String::new();
    for c in text.chars() {
        match c {
            ' '..='~' => plain.push(c),
            // Code units, as programs read them.
            _ => {
                for unit in c.encode_utf16(&mut [0; 2]) {
                    write!(plain, "\\U+{unit:04X}").expect("a String takes all that is written");
                }
            }
        }
    }
    plain
}
