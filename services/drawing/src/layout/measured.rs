//! The plan's dimensions as a builder with a rule wants them: the value along each line.

use shared_types::{Angle, DimensionShape, DisplayUnits, Length, Quantity, Unit};

use super::canvas::{Anchor, Canvas, Words, along, way};
use super::ink::Ink;
use crate::frame::{dimension_line, flat};

/// Size of values.
pub(crate) const VALUE: f64 = 2.4;
/// How far outside of what is cut a dimension line stands at most: views keep more room, for rings.
const ASIDE_MAX: f64 = 14.0;
/// A shorter line from an edge has its value outside of it, where nothing else is.
const SHORT: f64 = 20.0;
/// Half of the oblique stroke at the end of a dimension line.
const TICK: f64 = 0.9;

/// A length as one reads it off a rule, without its unit.
pub(crate) fn number(length: Length, units: DisplayUnits) -> String {
    let fraction = || {
        let fraction = length.inch_fraction().filter(|f| f.under <= 64)?;
        Some(fraction.to_string().trim_end_matches(" in").to_owned())
    };
    match units {
        DisplayUnits::Mm => length.rounded(Unit::Millimetre, 2),
        DisplayUnits::In => length.rounded(Unit::Inch, 3),
        DisplayUnits::InFractions => fraction().unwrap_or_else(|| length.rounded(Unit::Inch, 3)),
    }
}

/// Degrees with as many decimals as they have, at most two.
pub(crate) fn degrees(angle: Angle) -> String {
    let shown = shared_types::show(Quantity::Angle(angle), DisplayUnits::Mm);
    let whole = shown.number.strip_suffix(".0").unwrap_or(&shown.number);
    format!("{whole}{}", shown.unit)
}

impl Canvas {
    /// Draws one dimension with its value.
    pub(crate) fn measure(&mut self, shape: &DimensionShape, value: Quantity, units: DisplayUnits) {
        match (*shape, value) {
            (DimensionShape::Linear { from, to, offset }, Quantity::Length(length)) => {
                let ends = [flat(from), flat(to)];
                let line = self.drawn_in(ends, dimension_line(from, to, offset));
                self.linear(ends, line, &number(length, units));
            }
            (DimensionShape::Angle { vertex, from, to }, Quantity::Angle(angle)) => {
                let vertex = flat(vertex);
                let ([ax, ay], a) = way(vertex, flat(from));
                let ([bx, by], b) = way(vertex, flat(to));
                let (middle, _) = way([0.0, 0.0], [ax + bx, ay + by]);
                let at = along(vertex, middle, (0.5 * a.min(b)).clamp(2.5, 12.0));
                self.words.push(Words {
                    at: [at[0], at[1] - 0.35 * VALUE],
                    degrees: 0.0,
                    size: VALUE,
                    anchor: Anchor::Middle,
                    ink: Ink::Dimension,
                    text: degrees(angle),
                });
            }
            // Every hole says its diameter by itself.
            _ => {}
        }
    }

    /// A dimension line far outside of what is cut comes nearer, along its witness lines.
    fn drawn_in(&self, ends: [[f64; 2]; 2], line: [[f64; 2]; 2]) -> [[f64; 2]; 2] {
        let [left, right, bottom, top] = self.bounds_of(&[Ink::Cut, Ink::Section]);
        let (out, far) = way(ends[0], line[0]);
        if far < 1e-9 {
            return line;
        }
        let middle = [
            (line[0][0] + line[1][0]) / 2.0,
            (line[0][1] + line[1][1]) / 2.0,
        ];
        let beyond = [
            (left - middle[0]) * -out[0].min(0.0),
            (middle[0] - right) * out[0].max(0.0),
            (bottom - middle[1]) * -out[1].min(0.0),
            (middle[1] - top) * out[1].max(0.0),
        ];
        let beyond = beyond.into_iter().fold(0.0, f64::max);
        let back = (beyond - ASIDE_MAX).max(0.0).min(far - 1.0).max(0.0);
        line.map(|end| along(end, out, -back))
    }

    fn linear(&mut self, ends: [[f64; 2]; 2], line: [[f64; 2]; 2], text: &str) {
        let (go, long) = way(line[0], line[1]);
        for (end, place) in ends.into_iter().zip(line) {
            let (out, far) = way(end, place);
            if far > 0.5 {
                self.line(Ink::Dimension, along(end, out, 0.6), along(place, out, 1.2));
            }
        }
        self.line(Ink::Dimension, line[0], line[1]);
        let oblique = [
            (go[0] - go[1]) * std::f64::consts::FRAC_1_SQRT_2,
            (go[1] + go[0]) * std::f64::consts::FRAC_1_SQRT_2,
        ];
        for end in line {
            self.line(
                Ink::Dimension,
                along(end, oblique, -TICK),
                along(end, oblique, TICK),
            );
        }
        let fits = long >= Words::long(text, VALUE) + 1.0;
        let free = self.is_outside(along(line[0], go, -4.0));
        if fits && (long >= SHORT || !free) {
            let middle = along(line[0], go, long / 2.0);
            let words = Words::beside(middle, go, VALUE, Ink::Dimension, text);
            self.words.push(words);
        } else {
            let past = along(line[0], go, -1.5);
            self.line(Ink::Dimension, line[0], past);
            self.beyond(past, [-go[0], -go[1]], text);
        }
    }

    /// Text that goes on where a line ends.
    fn beyond(&mut self, at: [f64; 2], go: [f64; 2], text: &str) {
        let reads = upright(go);
        let same = reads[0] * go[0] + reads[1] * go[1] > 0.0;
        let up = [-reads[1], reads[0]];
        self.words.push(Words {
            at: along(along(at, go, 0.5), up, -0.36 * VALUE),
            degrees: reads[1].atan2(reads[0]).to_degrees(),
            size: VALUE,
            anchor: if same { Anchor::Start } else { Anchor::End },
            ink: Ink::Dimension,
            text: text.to_owned(),
        });
    }
}

/// The way in which text along a line is read: to the right, or upward.
pub(crate) fn upright([x, y]: [f64; 2]) -> [f64; 2] {
    if x < -1e-9 || (x.abs() <= 1e-9 && y < 0.0) {
        [-x, -y]
    } else {
        [x, y]
    }
}

impl Words {
    /// Text just above the middle of a line, running as the line does, never upside down.
    pub(crate) fn beside(at: [f64; 2], go: [f64; 2], size: f64, ink: Ink, text: &str) -> Self {
        let go = upright(go);
        let up = [-go[1], go[0]];
        Self {
            at: along(at, up, 0.25 * size),
            degrees: go[1].atan2(go[0]).to_degrees(),
            size,
            anchor: Anchor::Middle,
            ink,
            text: text.to_owned(),
        }
    }
}
