//! The stored spelling of what a plan may have beside its bare characteristics: pairs, fits, derived
//! characteristics and those that follow a mating piece. Each is left out where there is none.

use serde::{Deserialize, Serialize};
use shared_types::{
    CharacteristicId, Derived, Fit, FitSource, Follows, MEAN_READINGS_MAX, MEAN_READINGS_MIN,
    Mirrored, PartId, Words,
};

use super::SpellingError;
use super::sketch::ViewSpelt;
use super::words::{Name, Pm, Text, Value, Word};

/// `w` words (plain name, how to measure, when too small, when too large), `v` views.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct MirroredSpelt<'a> {
    #[serde(borrow)]
    w: Vec<(Text<'a>, Text<'a>, Text<'a>, Text<'a>)>,
    #[serde(borrow)]
    v: Vec<ViewSpelt<'a>>,
}

impl<'a> MirroredSpelt<'a> {
    pub(super) fn of(mirrored: &'a Mirrored) -> Self {
        Self {
            w: mirrored
                .words
                .iter()
                .map(|words| {
                    (
                        words.name.as_str().into(),
                        words.how.as_str().into(),
                        words.if_small.as_str().into(),
                        words.if_large.as_str().into(),
                    )
                })
                .collect(),
            v: mirrored.views.iter().map(ViewSpelt::of).collect(),
        }
    }

    pub(super) fn read(self, expected: usize) -> Result<Mirrored, SpellingError> {
        let found = self.w.len();
        if found != expected {
            return Err(SpellingError::Mirrored { found, expected });
        }
        let words = self.w.into_iter().map(|(name, how, small, large)| Words {
            name: name.into(),
            how: how.into(),
            if_small: small.into(),
            if_large: large.into(),
        });
        Ok(Mirrored {
            words: words.collect(),
            views: self.v.into_iter().map(ViewSpelt::read).collect(),
        })
    }
}

/// `i` the part it goes into, `c` clearance, `s` what its nominals follow, `m` in how many mating pieces the
/// first article is tried (left out where the build says).
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FitSpelt {
    i: Name<PartId>,
    c: Pm,
    s: Word<FitSource>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    m: Option<u32>,
}

impl FitSpelt {
    pub(super) fn of(fit: &Fit) -> Self {
        Self {
            i: Name(fit.into.clone()),
            c: Pm(fit.clearance),
            s: Word(fit.source),
            m: fit.first_article_mates,
        }
    }

    pub(super) fn read(self) -> Fit {
        Fit {
            into: self.i.0,
            clearance: self.c.0,
            source: self.s.0,
            first_article_mates: self.m,
        }
    }
}

/// `diff` of two, `apart` the same without sign, `mean` of so many.
#[derive(Serialize, Deserialize)]
pub(super) enum DerivedSpelt {
    #[serde(rename = "diff")]
    Difference(Name<CharacteristicId>, Name<CharacteristicId>),
    #[serde(rename = "apart")]
    Apart(Name<CharacteristicId>, Name<CharacteristicId>),
    #[serde(rename = "mean")]
    Mean(Name<CharacteristicId>, u8),
}

impl DerivedSpelt {
    pub(super) fn of(derived: &Derived) -> Self {
        match derived {
            Derived::Difference { of, absolute } => {
                let [first, second] = of.clone().map(Name);
                if *absolute {
                    Self::Apart(first, second)
                } else {
                    Self::Difference(first, second)
                }
            }
            Derived::Mean { of, readings } => Self::Mean(Name(of.clone()), *readings),
        }
    }

    pub(super) fn read(self) -> Result<Derived, SpellingError> {
        Ok(match self {
            Self::Difference(first, second) => Derived::Difference {
                of: [first.0, second.0],
                absolute: false,
            },
            Self::Apart(first, second) => Derived::Difference {
                of: [first.0, second.0],
                absolute: true,
            },
            Self::Mean(of, readings)
                if (MEAN_READINGS_MIN..=MEAN_READINGS_MAX).contains(&readings) =>
            {
                Derived::Mean { of: of.0, readings }
            }
            Self::Mean(_, readings) => return Err(SpellingError::Mean(readings)),
        })
    }
}

/// The mating part's characteristic, and what its plan wants there.
#[derive(Serialize, Deserialize)]
pub(super) struct FollowsSpelt(Name<CharacteristicId>, Value);

impl FollowsSpelt {
    pub(super) fn of(follows: &Follows) -> Self {
        Self(Name(follows.characteristic.clone()), follows.planned.into())
    }

    pub(super) fn read(self) -> Follows {
        Follows {
            characteristic: self.0.0,
            planned: self.1.into(),
        }
    }
}
