//! "That was not 7": another characteristic, or a reading that does not count.

use maud::{Markup, html};
use shared_types::{Characteristic, CharacteristicId, Seq};

use super::form::button;
use super::scene::{Scene, numbered};

/// Reasons that take one tap. Any other can be written.
const REASONS: [&str; 3] = [
    "the jaws slipped",
    "measured at the wrong place",
    "a trial, not meant",
];

pub(super) fn not_that(
    scene: &Scene<'_>,
    reading: Seq,
    id: &CharacteristicId,
    c: Option<&Characteristic>,
) -> Markup {
    let number = c.map_or_else(|| id.to_string(), |c| c.number.to_string());
    let held = format!("/api/held/{reading}");
    let entry = reading.to_string();
    html! {
        details.more #not-that {
            summary { "That was not " (number) }
            @if let Some(work) = scene.work {
                form.row action=(held) method="post" {
                    input type="hidden" name="bench" value=(scene.id);
                    (characteristic_select("not-that-of", work.measured_here().collect(), Some(id)))
                    button #not-that-assign type="submit" { "It was this one" }
                }
            }
            div.keys {
                @for (index, reason) in REASONS.iter().enumerate() {
                    (button(
                        &format!("void-{index}"),
                        "/api/voids",
                        &[("bench", scene.id.as_str()), ("reading", &entry), ("reason", reason)],
                        "",
                        &html! { "Void: " (reason) },
                    ))
                }
            }
            form.row action="/api/voids" method="post" {
                input type="hidden" name="bench" value=(scene.id);
                input type="hidden" name="reading" value=(entry);
                label for="void-reason" { "another reason" }
                input #void-reason type="text" name="reason" required maxlength="400" autocomplete="off";
                button #void-other type="submit" { "Void it" }
            }
        }
    }
}

/// A choice among characteristics, without the one it is taken for now.
pub(super) fn characteristic_select(
    id: &str,
    among: Vec<&Characteristic>,
    without: Option<&CharacteristicId>,
) -> Markup {
    html! {
        select id=(id) name="characteristic" aria-label="characteristic" required {
            @for c in among.into_iter().filter(|c| Some(&c.id) != without) {
                option value=(c.id) { (numbered(c)) }
            }
        }
    }
}
