//! How a value that a gauge sent is to be understood, where not as it stands.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::Quantity;

const MAS_PER_DEGREE: i64 = 3_600_000;

/// What is measured, by what the gauge showed. Each undoes itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// 90° minus what was shown: the gauge was zeroed square to where the plan counts from.
    Complement,
    /// 180° minus what was shown: the angle was taken from the other leg.
    Supplement,
    /// What was shown, with the other sign.
    OtherSign,
}

impl Form {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Complement, Self::Supplement, Self::OtherSign];

    /// The value meant, exact; `None` for a length that would need a whole turn, or out of range.
    #[must_use]
    pub fn of(self, shown: Quantity) -> Option<Quantity> {
        let from = match (self, shown) {
            (Self::OtherSign, _) => 0,
            (Self::Complement, Quantity::Angle(_)) => 90 * MAS_PER_DEGREE,
            (Self::Supplement, Quantity::Angle(_)) => 180 * MAS_PER_DEGREE,
            (Self::Complement | Self::Supplement, Quantity::Length(_)) => return None,
        };
        // Both are bounded far below what an i64 holds.
        shown.with_raw(from - shown.raw())
    }

    /// Its name in forms and files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Complement => "complement",
            Self::Supplement => "supplement",
            Self::OtherSign => "other-sign",
        }
    }

    /// The form of a name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|form| form.name() == name)
    }
}

/// As it follows "read as".
impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Complement => "90° minus what was shown",
            Self::Supplement => "180° minus what was shown",
            Self::OtherSign => "what was shown, with the other sign",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_is_exact_and_undoes_itself() {
        for (form, shown, meant) in [
            (Form::Complement, "1.5 deg", Some("88.5 deg")),
            (Form::Complement, "91°30'", Some("-1°30'")),
            (Form::Supplement, "91.5 deg", Some("88.5 deg")),
            (Form::Supplement, "-0°00'00.001\"", Some("180°00'00.001\"")),
            (Form::OtherSign, "-0.05 mm", Some("0.05 mm")),
            (Form::OtherSign, "-2°15'", Some("2°15'")),
            (Form::Complement, "12.7 mm", None),
            (Form::Supplement, "12.7 mm", None),
            // Ten turns are the most there is.
            (Form::Supplement, "-3600 deg", None),
        ] {
            let shown = Quantity::parse(shown).unwrap();
            let meant = meant.map(|text| Quantity::parse(text).unwrap());
            assert_eq!(form.of(shown), meant, "{form:?} {shown}");
            if let Some(meant) = meant {
                assert_eq!(form.of(meant), Some(shown));
            }
        }
    }

    #[test]
    fn a_name_is_read_back() {
        for form in Form::ALL {
            assert_eq!(Form::from_name(form.name()), Some(form));
        }
        assert_eq!(Form::from_name("as-read"), None);
    }
}
