//! Which dialects explain what an unknown gauge says. Pure.

use shared_types::{Quantity, Reading, Unit};

use crate::{Dialect, Form};

/// Longest letters of a type and mode taken for such; more would be a word.
const LETTERS_MAX: usize = 8;

/// A dialect that reads every frame that was heard.
#[derive(Clone, Debug)]
pub struct Explanation {
    /// It.
    pub dialect: Dialect,
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

/// The dialects that read every one of the whole frames `heard`, the likelier first: of `known`, which the
/// configuration already names, and of the usual ones. `unit` is that of a frame that names none. Empty where
/// nothing was heard: silence is explained by everything.
#[must_use]
pub fn explain<'f>(
    heard: impl Iterator<Item = &'f [u8]> + Clone,
    unit: Unit,
    known: &[Dialect],
) -> Vec<Explanation> {
    let mut explanations: Vec<Explanation> = Vec::new();
    // Whichever of its gauges this is, its channel is not asked for.
    let known = known.iter().map(|dialect| Dialect {
        channel: None,
        ..dialect.clone()
    });
    let lettered = heard.clone().next().and_then(letters);
    let usual = Form::usual().into_iter().chain(lettered);
    let usual = usual.flat_map(|form| {
        ['.', ','].map(|decimal| Dialect {
            form: form.clone(),
            ..Dialect::line(unit, decimal, None)
        })
    });
    for dialect in known.chain(usual) {
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
            before.any(|e| e.dialect.form == dialect.form && e.reading == *reading)
        };
        if explained
            && let Some(reading) = last
            && !is_said(&reading)
        {
            explanations.push(Explanation { dialect, reading });
        }
    }
    explanations
}

/// The dialect whose letters are those the frame begins with, where it begins with some.
fn letters(frame: &[u8]) -> Option<Form> {
    let count = frame
        .iter()
        .take_while(|byte| byte.is_ascii_alphabetic())
        .count();
    let letters = frame.get(..count).filter(|_| count <= LETTERS_MAX)?;
    let letters = std::str::from_utf8(letters).ok()?.to_owned();
    (!letters.is_empty()).then_some(Form::Lettered { letters })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(frames: &[&str]) -> Vec<String> {
        explain(
            frames.iter().map(|frame| frame.as_bytes()),
            Unit::Millimetre,
            &[],
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
            (&["APD+043.10", "APD+044"][..], "lettered . 44 mm"),
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

    #[test]
    fn what_the_configuration_names_explains_first_in_its_own_unit_and_spells_itself() {
        let pattern = Dialect {
            form: Form::Pattern {
                pattern: crate::Pattern::new("#{status} {channel}:{value};{skip}", '.').unwrap(),
                good: "OK".into(),
            },
            channel: Some("7".into()),
            ..Dialect::line(Unit::Inch, '.', None)
        };
        let frames = ["#OK 8:0.500;x1", "#OK 8:0.501;x2"].map(str::as_bytes);
        assert!(explain(frames.into_iter(), Unit::Millimetre, &[]).is_empty());
        let found = explain(frames.into_iter(), Unit::Millimetre, &[pattern]);
        let keys: Vec<String> = found.iter().map(|e| e.dialect.form.keys()).collect();
        let pattern = r##"pattern = "#{status} {channel}:{value};{skip}""##;
        assert_eq!(
            keys,
            [format!("dialect = \"pattern\"\n{pattern}\ngood = \"OK\"")]
        );
        assert_eq!(found[0].reading.unit, Unit::Inch);
        // A mode that changes, and a word, are no letters of a type.
        assert_eq!(names(&["APD+1.0", "APM+1.0"]), Vec::<String>::new());
        assert_eq!(names(&["TEMPERATURE 21"]), Vec::<String>::new());
    }
}
