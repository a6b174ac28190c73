//! Which dialects explain what an unknown gauge says. Pure.

use shared_types::{Quantity, Reading, Unit};

use crate::{Dialect, Form};

/// A dialect that reads every frame that was heard.
#[derive(Clone, Debug)]
pub struct Explanation {
    /// It.
    pub dialect: Dialect,
    /// The lines of configuration that name it, without the decimal mark.
    pub lines: &'static str,
    /// What it makes of the last frame.
    pub reading: Reading,
}

impl Explanation {
    /// Whether the gauge measures angles.
    #[must_use]
    pub fn is_of_angles(&self) -> bool {
        matches!(self.reading.value, Quantity::Angle(_))
    }
}

/// The dialects that read every one of the whole frames `heard`, the likelier first. `unit` is that of a
/// frame that names none. Empty where nothing was heard: silence is explained by everything.
#[must_use]
pub fn explain<'f>(heard: impl Iterator<Item = &'f [u8]> + Clone, unit: Unit) -> Vec<Explanation> {
    let mut explanations: Vec<Explanation> = Vec::new();
    for (form, lines) in Form::usual() {
        for decimal in ['.', ','] {
            let dialect = Dialect {
                form: form.clone(),
                decimal,
                ..Dialect::line(unit, decimal, None)
            };
            let mut last = None;
            let explained = heard.clone().all(|frame| match dialect.value(frame) {
                Ok(value) => {
                    last = Some(value.reading());
                    true
                }
                Err(_) => false,
            });
            // With a comma it says nothing else than with a point: the point is the usual one.
            let is_said = |reading: &Reading| {
                let mut before = explanations.iter();
                before.any(|e| e.lines == lines && e.reading == *reading)
            };
            if explained
                && let Some(reading) = last
                && !is_said(&reading)
            {
                explanations.push(Explanation {
                    dialect,
                    lines,
                    reading,
                });
            }
        }
    }
    explanations
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(frames: &[&str]) -> Vec<String> {
        explain(
            frames.iter().map(|frame| frame.as_bytes()),
            Unit::Millimetre,
        )
        .into_iter()
        .map(|e| {
            format!(
                "{} {} {}",
                e.dialect.form.name(),
                e.dialect.decimal,
                e.reading.value
            )
        })
        .collect()
    }

    /// Frames as in the manuals' spellings that the dialects' own tests name their sources for.
    #[test]
    fn each_spelling_is_explained_by_its_dialect_and_one_foreign_frame_by_none() {
        for (frames, first) in [
            (&["+  12.340, MM", "+  12.350, MM"][..], "line . 12.35 mm"),
            (&["12,34"][..], "line , 12.34 mm"),
            (&["5.637 MM 2 7"][..], "numbered . 5.637 mm"),
            (&["01A+00012.34"][..], "multiplexer . 12.34 mm"),
            (&["1;+12.34;mm"][..], "delimited . 12.34 mm"),
            (&["X=+00.430"][..], "axis . 0.43 mm"),
        ] {
            let found = names(frames);
            assert_eq!(found.first().map(String::as_str), Some(first), "{found:?}");
            let mut foreign = frames.to_vec();
            foreign.push("what?");
            assert_eq!(names(&foreign), Vec::<String>::new());
        }
        assert_eq!(names(&[]), Vec::<String>::new());
        // The same value by either mark is one explanation.
        assert_eq!(
            names(&["12"])
                .iter()
                .filter(|name| name.starts_with("line"))
                .count(),
            1
        );
    }
}
