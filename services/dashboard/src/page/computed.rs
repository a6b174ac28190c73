//! What is computed at this stage, with the readings it comes from.

use maud::{Markup, html};
use shared_types::{Characteristic, CharacteristicId, Derived};

use super::scene::{Scene, Work};

pub(super) fn computed(scene: &Scene<'_>) -> Markup {
    let all: Vec<_> = scene
        .work
        .into_iter()
        .flat_map(|work| work.route().map(move |c| (work, c)))
        .filter_map(|(work, c)| Some((work, c, c.derived.as_ref()?)))
        .collect();
    if all.is_empty() {
        return html! { section.computed #s-computed hidden {} };
    }
    html! {
        section.computed #s-computed aria-label="computed from readings" {
            h2.rule { span { "Computed from readings" } }
            ul {
                @for (work, c, derived) in all { li { (line(scene, work, c, derived)) } }
            }
        }
    }
}

fn line(scene: &Scene<'_>, work: Work<'_>, c: &Characteristic, derived: &Derived) -> Markup {
    let limits = match (c.limits.lower(), c.limits.upper()) {
        (Some(lower), Some(upper)) => {
            format!("limits {} to {}", scene.shown(lower), scene.shown(upper))
        }
        (Some(lower), None) => format!("at least {}", scene.shown(lower)),
        (None, Some(upper)) => format!("at most {}", scene.shown(upper)),
        (None, None) => String::new(),
    };
    html! {
        b { (c.number) } " · " (c.name) ": "
        @match work.standing(&c.id) {
            Some(stands) => {
                strong { (scene.shown(stands.value)) ", " (stands.verdict) }
                span.soft { " (" (limits) ")" }
                " from " (inputs(scene, work, derived, &stands.from))
            }
            None => { (lacking(work, derived)) span.soft { " (" (limits) ")" } }
        }
    }
}

/// `330.2 mm (1) less 330.0 mm (2)`: the very readings, in the order they were taken for it.
fn inputs(
    scene: &Scene<'_>,
    work: Work<'_>,
    derived: &Derived,
    from: &[shared_types::Seq],
) -> String {
    let of = derived.inputs();
    let number = |id: &CharacteristicId| work.plan.characteristic(id).map_or(0, |c| c.number);
    let value = |index: usize, seq: &shared_types::Seq| {
        let id = of.get(index).or(of.last())?;
        let mut readings = work.measured?.counting(id);
        let reading = readings.find(|a| &a.seq == seq)?;
        Some((scene.shown(reading.value), number(id)))
    };
    let read = from.iter().enumerate().filter_map(|(i, seq)| value(i, seq));
    match derived {
        Derived::Difference { .. } => {
            let told: Vec<String> = read.map(|(v, n)| format!("{v} ({n})")).collect();
            told.join(" less ")
        }
        Derived::Mean { of, .. } => {
            let told: Vec<String> = read.map(|(v, _)| v).collect();
            format!("{} ({})", told.join(", "), number(of))
        }
    }
}

/// What it still takes.
fn lacking(work: Work<'_>, derived: &Derived) -> String {
    let number = |id: &CharacteristicId| {
        let c = work.plan.characteristic(id);
        c.map_or_else(|| id.to_string(), |c| c.number.to_string())
    };
    match derived {
        Derived::Difference { of, .. } => {
            let open: Vec<String> = of
                .iter()
                .filter(|id| work.standing(id).is_none())
                .map(number)
                .collect();
            if open.is_empty() {
                let [first, second] = of.each_ref().map(number);
                format!("measure {first} or {second} once more")
            } else {
                format!("waits for {}", open.join(" and "))
            }
        }
        Derived::Mean { of, readings } => format!(
            "takes {readings} readings of {} in one sitting on the bench",
            number(of)
        ),
    }
}
