//! Guidance on fasteners: edge distance, pitch, and how thick a rivet a sheet takes.

use shared_types::{Length, Warning};

use crate::bend::Bend;
use crate::draft::mm;
use crate::flange::row::Run;
use crate::hole::{Hole, Row};
use crate::measure::Measure;

const SPACING: &str = "AC 43.13-1B, paragraph 4-57, single row";

/// What there is to say of all fastener holes of a flat part. `edge` gives how far a hole's centre lies from
/// the nearest free edge, where there is one.
pub(crate) fn holes(
    holes: &[Hole],
    thickness: Length,
    edge: impl Fn(&Hole) -> Option<f64>,
) -> Vec<Warning> {
    let mut told = Vec::new();
    // What is to be said of a row is said once.
    let mut rows: Vec<&str> = Vec::new();
    let fasteners = || holes.iter().enumerate().filter(|(_, hole)| hole.fastener);
    for (index, hole) in fasteners() {
        let called = &hole.called;
        let close = edge(hole)
            .and_then(|away| edge_distance(called, hole.diameter(), Measure::computed(away)));
        if close.is_some() && !rows.contains(&hole.group.as_str()) {
            rows.push(&hole.group);
            told.extend(close);
        }
        for (_, earlier) in
            fasteners()
                .take_while(|(other, _)| *other < index)
                .filter(|(other, earlier)| {
                    let first = matches!(earlier.row, Row::First { .. }) && other + 1 == index;
                    earlier.group != hole.group || first
                })
        {
            let [a, b] = [hole.centre(), earlier.centre()];
            let apart = Measure::computed((a[0] - b[0]).hypot(a[1] - b[1]));
            let [a, b] = [hole, earlier].map(Hole::diameter);
            let least = if a.pm() < b.pm() { b } else { a }.times(3.0);
            if apart.pm() < least.pm() {
                told.push(Warning {
                    what: format!(
                        "{called} and {}: {} apart from centre to centre, below {}, three diameters; space them wider",
                        earlier.called,
                        mm(apart),
                        mm(least)
                    ),
                    source: SPACING.to_owned(),
                });
            }
        }
    }
    let mut diameters: Vec<Length> = fasteners()
        .filter_map(|(_, hole)| hole.diameter().length())
        .collect();
    diameters.sort_unstable();
    diameters.dedup();
    told.extend(diameters.into_iter().filter_map(|d| diameter(d, thickness)));
    told
}

/// Of a flange: whether its fasteners find room between its free edge and its bend.
pub(crate) fn flange(what: &str, kept: Length, fastener: Length, bend: &Bend) -> Vec<Warning> {
    let flat = Measure::exact(kept) - bend.setback_measure();
    let least = Measure::exact(fastener).times(3.0);
    let short = (flat.pm() < least.pm()).then(|| Warning {
        what: format!(
            "{what}: {} flat beyond the bend, below {} for fasteners of {}: two diameters from their centres to the free \
             edge, and one to the bend for half a head; make the flange higher or the fasteners thinner",
            mm(flat),
            mm(least),
            mm(fastener.into())
        ),
        source: format!("{SPACING} (edge distance); width of a head, twice the diameter, from memory"),
    });
    short
        .into_iter()
        .chain(diameter(fastener, bend.thickness))
        .collect()
}

/// Of the rows in a flange: edge and end distance, spacing, and room for heads beside the bend.
pub(crate) fn rows<E>(run: &Run<'_, '_, E>) -> Vec<Warning> {
    let on = &run.label.words;
    let mut told = Vec::new();
    for row in &run.bent.flange.rivets {
        let d = Measure::exact(row.diameter);
        let down = Measure::exact(row.edge_distance);
        let two = "two diameters from a centre to an edge";
        let head = "half the width of a head";
        let from_memory = "width of a head, twice the diameter, from memory";
        for (what, found, times, reason, source, advice) in [
            ("the free edge", down, 2.0, two, SPACING, "move the row in"),
            (
                "the end of the flange",
                run.end_distance(row),
                2.0,
                two,
                SPACING,
                "move the row along or shorten it",
            ),
            (
                "the next centre",
                row.pitch.into(),
                3.0,
                "three diameters",
                SPACING,
                "space them wider",
            ),
            (
                "the bend tangent line",
                run.flat() - down,
                1.0,
                head,
                from_memory,
                "move the row toward the free edge",
            ),
        ] {
            let least = d.times(times);
            if found.pm() < least.pm() {
                told.push(Warning {
                    what: format!(
                        "rivets of the {on}: {} from their centres to {what}, below {}, {reason}; {advice}",
                        mm(found),
                        mm(least)
                    ),
                    source: source.to_owned(),
                });
            }
        }
        // The flange's own `fastener` has told it already.
        if run.bent.flange.fastener != Some(row.diameter) {
            told.extend(diameter(row.diameter, run.bent.bend.thickness));
        }
    }
    told
}

fn edge_distance(called: &str, diameter: Measure, away: Measure) -> Option<Warning> {
    let least = diameter + diameter;
    (away.pm() < least.pm()).then(|| Warning {
        what: format!(
            "{called}: its centre lies {} from the edge, below {}, two diameters; move it in or leave more edge",
            mm(away),
            mm(least)
        ),
        source: SPACING.to_owned(),
    })
}

/// The sheet of this part may not be the thickest of the joint, so that only what it already rules out is told.
fn diameter(fastener: Length, thickness: Length) -> Option<Warning> {
    let (d, t) = (fastener.pm(), thickness.pm());
    let (bound, advice) = if d < t {
        ("the sheet itself", "use thicker ones")
    } else if d > 3 * t {
        (
            "three times the sheet",
            "use thinner ones, unless the other sheet of the joint is thicker",
        )
    } else {
        return None;
    };
    Some(Warning {
        what: format!(
            "fasteners of {} in sheet of {}: {} than {bound}; {advice}",
            mm(fastener.into()),
            mm(thickness.into()),
            if d < t { "thinner" } else { "thicker" }
        ),
        source: "NAVEDTRA 14018, rivet diameter".to_owned(),
    })
}
