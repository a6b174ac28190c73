//! The streaming calipers of a capture and the hands that hold them: the same capture gives the same bytes, in
//! the demo at any pace and in a replay.

use std::collections::BTreeMap;

use super::model::{Caliper, Does, Habits};
use crate::capture::Act;

/// Values while a hand holds the jaws on something: two and a half seconds, which is what it takes a person.
const HELD_VALUES: u32 = 25;
/// One value in so many loses a byte where the cable is bad: a few in each measurement.
const BAD_CABLE_ONE_IN: u64 = 9;

/// Every caliper that was held so far.
#[derive(Debug, Default)]
pub(crate) struct Hands(BTreeMap<String, Caliper>);

impl Hands {
    /// What a step comes down to: waits and what is sent meanwhile. `None` where it is not done to a model.
    pub(crate) fn steps(&mut self, act: &Act) -> Option<Vec<Act>> {
        match act {
            Act::Hold { gauge, size } => {
                let caliper = self.caliper(gauge);
                let mut steps = caliper.closes_on(*size);
                steps.extend(caliper.holds(HELD_VALUES));
                let acts = steps.into_iter().flat_map(|step| {
                    let sent = match step.does {
                        Does::Say(bytes) => Act::Send {
                            gauge: gauge.clone(),
                            bytes,
                        },
                        Does::Unplug => Act::Unplug {
                            gauge: gauge.clone(),
                        },
                        Does::Plug => Act::Plug {
                            gauge: gauge.clone(),
                        },
                    };
                    [Act::Wait { ms: step.after_ms }, sent]
                });
                Some(acts.collect())
            }
            Act::Bump { gauge } => {
                self.caliper(gauge).bump_unit();
                Some(Vec::new())
            }
            Act::Cable { gauge, is_bad } => {
                let one_in = if *is_bad { BAD_CABLE_ONE_IN } else { 0 };
                self.caliper(gauge).drops_one_in(one_in);
                Some(Vec::new())
            }
            _ => None,
        }
    }

    fn caliper(&mut self, gauge: &str) -> &mut Caliper {
        // A cheap one: its lines say mm whatever its button is set to.
        let habits = Habits {
            unit_follows: false,
            ..Habits::default()
        };
        self.0
            .entry(gauge.to_owned())
            .or_insert_with(|| Caliper::new(habits, seed(gauge)))
    }
}

/// A gauge's own seed, from its name: its story does not change with those of others (FNV-1a).
fn seed(gauge: &str) -> u64 {
    gauge.bytes().fold(0xcbf2_9ce4_8422_2325, |seed, byte| {
        (seed ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}
