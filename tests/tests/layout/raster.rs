//! A printed page as dots: poppler's picture of it, the bars at its foot, the marks it shares with others.

use std::path::Path;
use std::process::Command;

/// The foot of a page and its margins, in millimetres, as the layout states them.
const FOOT: f64 = 46.0;
const MARGIN: f64 = 10.0;

/// One page of a sheet.
pub(crate) struct Page {
    /// Its row from above and its column from the left, from 0.
    pub(crate) at: (usize, usize),
    pub(crate) wide: usize,
    pub(crate) tall: usize,
    dots: Vec<u8>,
}

pub(crate) const DOTS_IN_MM: f64 = 300.0 / 25.4;

/// The pages of one sheet, in the order they are printed.
pub(crate) fn pages(pdf: &Path, sheet: &str, dpi: f64) -> Vec<Page> {
    let text = Command::new("pdftotext")
        .args(["-layout"])
        .arg(pdf)
        .arg("-")
        .output()
        .unwrap();
    let text = String::from_utf8(text.stdout).unwrap();
    // A form feed ends each page.
    let named = text.split('\u{c}').enumerate().filter_map(|(index, page)| {
        let after = page.split(sheet).skip(1);
        let names = after.filter_map(|rest| rest.split_whitespace().next().and_then(place));
        // The name stands at the foot, below everything else that may begin with the same word.
        names.last().map(|at| (index + 1, at))
    });
    named
        .map(|(number, at)| {
            assert!(page_says(&text, number), "page {number}");
            picture(pdf, number, at, dpi)
        })
        .collect()
}

fn page_says(text: &str, number: usize) -> bool {
    let page = text.split('\u{c}').nth(number - 1).unwrap();
    page.contains("MEASURE BEFORE CUTTING")
        && page.to_lowercase().contains("measure before cutting")
}

/// `B3` is the second row, third column.
fn place(name: &str) -> Option<(usize, usize)> {
    let (row, column) = name.split_at_checked(1)?;
    let row = row.bytes().next().filter(u8::is_ascii_uppercase)? - b'A';
    let column: usize = column.parse().ok()?;
    Some((usize::from(row), column.checked_sub(1)?))
}

fn picture(pdf: &Path, number: usize, at: (usize, usize), dpi: f64) -> Page {
    let number = number.to_string();
    let output = Command::new("pdftoppm")
        .args(["-r", &dpi.to_string(), "-f", &number, "-l", &number])
        .arg(pdf)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    // P6, width, height, 255, one white space, dots.
    let bytes = output.stdout;
    let mut words = Vec::new();
    let mut index = 0;
    while words.len() < 4 {
        let end = index
            + bytes[index..]
                .iter()
                .position(u8::is_ascii_whitespace)
                .unwrap();
        words.push(String::from_utf8(bytes[index..end].to_vec()).unwrap());
        index = end + 1;
    }
    assert_eq!((words[0].as_str(), words[3].as_str()), ("P6", "255"));
    let [wide, tall] = [1, 2].map(|word| words[word].parse().unwrap());
    let dots = bytes[index..].to_vec();
    assert_eq!(dots.len(), 3 * wide * tall);
    Page {
        at,
        wide,
        tall,
        dots,
    }
}

impl Page {
    pub(crate) fn dot(&self, x: usize, y: usize) -> [u8; 3] {
        let at = 3 * (y * self.wide + x);
        [self.dots[at], self.dots[at + 1], self.dots[at + 2]]
    }

    /// What is cut is black; nothing else in the drawing is darker than a dark grey.
    pub(crate) fn is_black(&self, x: usize, y: usize) -> bool {
        self.dot(x, y).into_iter().all(|part| part < 45)
    }

    /// The part of the page that shows the sheet: left, right, upper, lower.
    pub(crate) fn window(&self) -> [usize; 4] {
        let margin = (MARGIN * DOTS_IN_MM) as usize + 4;
        let foot = (FOOT * DOTS_IN_MM) as usize + 4;
        [margin, self.wide - margin, margin, self.tall - foot]
    }

    /// What a rule laid along the bars at the foot finds wrong.
    pub(crate) fn wrong_bars(&self) -> Vec<String> {
        let [left, _, _, floor] = self.window();
        // The strokes at the ends of a bar are 0.2 mm wide, half of which stands beyond its length.
        let bars = [("100 mm", 100.2), ("4 in", 101.8)];
        let runs: Vec<f64> = (floor + 8..self.tall)
            .map(|y| {
                // Both ways from a place inside of either bar.
                let from = left + 30;
                let black = |x: &usize| self.is_black(*x, y);
                let right = (from..self.wide).take_while(black).count();
                let back = (0..from).rev().take_while(black).count();
                (right + back) as f64
            })
            .collect();
        bars.into_iter()
            .filter_map(|(name, mm)| {
                let wanted = mm * DOTS_IN_MM;
                let nearest = runs
                    .iter()
                    .copied()
                    .min_by(|a, b| (a - wanted).abs().total_cmp(&(b - wanted).abs()))
                    .unwrap();
                ((nearest - wanted).abs() > 1.0).then(|| {
                    format!("the bar of {name} is {nearest} dots long, expected {wanted:.1}")
                })
            })
            .collect()
    }

    /// The middles of the ringed crosses: long straight strokes in their own colour.
    pub(crate) fn marks(&self) -> Vec<[f64; 2]> {
        let long = 8.0 * DOTS_IN_MM;
        let pink = |x: usize, y: usize| {
            let [r, g, b] = self.dot(x, y);
            // How much of a dot is covered by the colour 200, 0, 140, by its green.
            if r > 190 && b > 130 && g < r.min(b) {
                f64::from(255 - g) / 255.0
            } else {
                0.0
            }
        };
        let mut marks: Vec<[f64; 2]> = Vec::new();
        for y in 0..self.tall {
            let mut x = 0;
            while x < self.wide {
                let from = x;
                while x < self.wide && pink(x, y) > 0.3 {
                    x += 1;
                }
                if (x - from) as f64 > 0.9 * long {
                    let middle = (from + x) as f64 / 2.0;
                    let close = |mark: &&mut [f64; 2]| {
                        (mark[0] - middle).abs() < long && (mark[1] - y as f64).abs() < long
                    };
                    if marks.iter_mut().find(close).is_none() {
                        marks.push(self.cross([middle, y as f64], &pink));
                    }
                }
                x += 1;
            }
        }
        marks
    }

    /// To a part of a dot: the middle of the colour across each arm, out where the ring is not.
    fn cross(&self, [x, y]: [f64; 2], pink: &dyn Fn(usize, usize) -> f64) -> [f64; 2] {
        let arm = (3.2 * DOTS_IN_MM) as i64;
        let across = |fixed: i64, at: i64, upright: bool| -> (f64, f64) {
            (-4..=4).fold((0.0, 0.0), |(sum, all), step| {
                let (px, py) = if upright {
                    (fixed + step, at)
                } else {
                    (at, fixed + step)
                };
                let (px, py) = (usize::try_from(px).unwrap(), usize::try_from(py).unwrap());
                let ink = if px < self.wide && py < self.tall {
                    pink(px, py)
                } else {
                    0.0
                };
                let place = (fixed + step) as f64 + 0.5;
                (sum + ink * place, all + ink)
            })
        };
        let (cx, cy) = (x.round() as i64, y.round() as i64);
        let middle = |fixed: i64, other: i64, upright: bool| {
            let arms =
                [-arm, -arm + 4, arm - 4, arm].map(|out| across(fixed, other + out, upright));
            let (sum, all) = arms
                .iter()
                .fold((0.0, 0.0), |t, one| (t.0 + one.0, t.1 + one.1));
            sum / all
        };
        [middle(cx, cy, true), middle(cy, cx, false)]
    }
}
