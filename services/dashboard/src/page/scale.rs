//! The limits as a scale with the reading on it. The two limits always stand at the same places, so
//! the eye learns where "within" is; the reading is placed to that scale, and one far outside stands
//! at the end with a break mark. All places are whole numbers: nothing is rounded through a float.

use maud::{Markup, html};
use shared_types::{Characteristic, Grounds, Quantity, Verdict};

use super::glyph::Shape;
use super::scene::Scene;

/// The drawing's width, and where the limits stand on it.
const WIDTH: i128 = 360;
const LOWER_X: i128 = 110;
const UPPER_X: i128 = 250;
/// Where a reading beyond the scale stands.
const EDGE: i128 = 14;

pub(super) fn scale(
    scene: &Scene<'_>,
    c: &Characteristic,
    (value, verdict): (Quantity, Verdict),
    grounds: Option<&Grounds>,
) -> Markup {
    let (lower, upper) = (c.limits.lower(), c.limits.upper());
    let place = Places::new(c);
    let (at, beyond) = place.of(value);
    let (wanted, _) = place.of(c.nominal);
    let bands = grounds.map_or_else(Vec::new, |grounds| bands(&place, grounds));
    let mean = grounds.and_then(|g| g.mean.as_ref());
    html! {
        svg.scale viewBox={ "0 0 " (WIDTH) " 82" } role="img" aria-label=(label(scene, c, value)) {
            @for (from, to) in bands { rect.guard x=(from) y="34" width=(to - from) height="20" {} }
            path.base d={ "M0 44H" (WIDTH) } {}
            @if let Some(lower) = lower {
                path.limit d={ "M" (LOWER_X) " 28V60L" (LOWER_X - 7) " 56V28Z" } {}
                text x=(LOWER_X) y="78" text-anchor="middle" { (scene.shown(lower)) }
            }
            @if let Some(upper) = upper {
                path.limit d={ "M" (UPPER_X) " 28V60L" (UPPER_X + 7) " 56V28Z" } {}
                text x=(UPPER_X) y="78" text-anchor="middle" { (scene.shown(upper)) }
            }
            @if let Some(mean) = mean { path.mean d={ "M" (place.of(mean.value).0) " 32V56" } {} }
            path.wanted d={ "M" (wanted) " 38V50" } {}
            g class=(Shape::Judged(verdict).class()) {
                path.reading d={ "M" (at) " 24V58" } {}
                path.flag d={ "M" (at) " 24L" (at - 7) " 10H" (at + 7) "Z" } {}
                @match beyond {
                    Beyond::Left => { path.reading d={ "M" (at + 18) " 38L" (at + 12) " 44L" (at + 18) " 50M" (at + 26) " 38L" (at + 20) " 44L" (at + 26) " 50" } {} }
                    Beyond::Right => { path.reading d={ "M" (at - 18) " 38L" (at - 12) " 44L" (at - 18) " 50M" (at - 26) " 38L" (at - 20) " 44L" (at - 26) " 50" } {} }
                    Beyond::No => {}
                }
            }
        }
    }
}

/// Where a reading proves nothing: from the limits to reject by to those to accept by, or all between where none can
/// be accepted.
fn bands(place: &Places, grounds: &Grounds) -> Vec<(i128, i128)> {
    let Some(reject) = grounds.reject else {
        return Vec::new();
    };
    let x = |q: Quantity| place.of(q).0;
    let band = |from: Option<Quantity>, to: Option<Quantity>| {
        let (from, to) = (x(from?), x(to?));
        (from < to).then_some((from, to))
    };
    match grounds.accept {
        None => band(reject.lower(), reject.upper()).into_iter().collect(),
        Some(accept) => [
            band(reject.lower(), accept.lower()),
            band(accept.upper(), reject.upper()),
        ]
        .into_iter()
        .flatten()
        .collect(),
    }
}

fn label(scene: &Scene<'_>, c: &Characteristic, value: Quantity) -> String {
    let limit =
        |limit: Option<Quantity>| limit.map_or_else(|| "none".to_owned(), |l| scene.shown(l));
    format!(
        "{} on a scale from the lower limit {} to the upper limit {}, wanted {}",
        scene.shown(value),
        limit(c.limits.lower()),
        limit(c.limits.upper()),
        scene.shown(c.nominal)
    )
}

/// Whether the scale goes that far.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Beyond {
    No,
    Left,
    Right,
}

/// A straight line through two known places.
struct Places {
    lower: i128,
    upper: i128,
}

impl Places {
    fn new(c: &Characteristic) -> Self {
        let nominal = i128::from(c.nominal.raw());
        let raw = |q: Option<Quantity>| q.map(|q| i128::from(q.raw()));
        // With one limit only, the wanted value is as far from it as from a limit that is not drawn.
        let (lower, upper) = match (raw(c.limits.lower()), raw(c.limits.upper())) {
            (Some(lower), Some(upper)) => (lower, upper),
            (Some(lower), None) => (lower, lower + 2 * (nominal - lower).abs()),
            (None, Some(upper)) => (upper - 2 * (upper - nominal).abs(), upper),
            (None, None) => (nominal, nominal),
        };
        // Limits that coincide would leave no scale; one unit apart they do.
        Self {
            lower,
            upper: upper.max(lower + 1),
        }
    }

    fn of(&self, value: Quantity) -> (i128, Beyond) {
        let along = i128::from(value.raw()) - self.lower;
        // Just outside must be seen outside: round away from the middle.
        let scaled = along * (UPPER_X - LOWER_X);
        let span = self.upper - self.lower;
        let x = if along > span {
            LOWER_X + scaled.div_euclid(span) + i128::from(scaled.rem_euclid(span) != 0)
        } else {
            LOWER_X + scaled.div_euclid(span)
        };
        if x < EDGE {
            (EDGE, Beyond::Left)
        } else if x > WIDTH - EDGE {
            (WIDTH - EDGE, Beyond::Right)
        } else {
            (x, Beyond::No)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_outside_is_always_drawn_outside() {
        let places = Places {
            lower: 11_900_000_000,
            upper: 13_500_000_000,
        };
        let at = |pm: i64| {
            let length = shared_types::Length::from_pm(pm).unwrap();
            places.of(Quantity::Length(length))
        };
        assert_eq!(at(11_900_000_000), (LOWER_X, Beyond::No));
        assert_eq!(at(13_500_000_000), (UPPER_X, Beyond::No));
        assert_eq!(at(11_899_999_999), (LOWER_X - 1, Beyond::No));
        assert_eq!(at(13_500_000_001), (UPPER_X + 1, Beyond::No));
        assert_eq!(at(99_000_000_000), (WIDTH - EDGE, Beyond::Right));
        assert_eq!(at(-99_000_000_000), (EDGE, Beyond::Left));
    }
}
