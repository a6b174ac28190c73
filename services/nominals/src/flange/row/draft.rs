//! What is measured of the rows of a flange.

use shared_types::Stage;

use super::Run;
use crate::draft::{Draft, Nominal, mm};
use crate::hole::NOT_MOVED;
use crate::measure::Measure;

/// Of every row at the stage at which its flange has its final height: the holes, and where they stand.
pub(crate) fn drafts<E>(run: &Run<'_, '_, E>, stage: Stage) -> Vec<Draft> {
    if stage != run.stage() {
        return Vec::new();
    }
    let (on, start) = (&run.label.words, &run.start);
    let mut drafts = Vec::new();
    for (row, suffix) in run.rows() {
        let holes = match suffix.strip_prefix(&run.label.id) {
            Some("") | None => format!("rivet holes of the {on}"),
            Some(number) => format!("rivet holes of the {on}, row {}", &number[1..]),
        };
        let less = format!("less half the diameter {}", mm(row.diameter.into()));
        let draft = |kind: &str, nominal: Measure| Draft {
            id: run.id(kind, &suffix),
            name: String::new(),
            stage,
            nominal: Nominal::Length(nominal),
            rule: String::new(),
            how: String::new(),
            if_small: NOT_MOVED.into(),
            if_large: NOT_MOVED.into(),
            own: None,
            at: row.at,
        };
        drafts.push(Draft {
            name: format!("diameter of the {holes}"),
            rule: "as the plan gives it".to_owned(),
            how: format!("Inside jaws across each of the {holes}; the worst one counts."),
            if_small: "Open it up to size.".into(),
            if_large: "It cannot be put back: ask what the plan allows.".into(),
            ..draft("rivet-diameter", row.diameter.into())
        });
        drafts.push(Draft {
            name: format!("free edge to the {holes}"),
            rule: format!("edge distance {} to the centres, {less}", mm(row.edge_distance.into())),
            how: format!(
                "On the outer face, from the free edge of the {on} to the near side of each hole: one outside jaw on the \
                 edge, the tip of the other in the hole; the worst one counts. The edge distance is the reading and half \
                 the hole's diameter."
            ),
            ..draft("edge-distance", Measure::exact(row.edge_distance) - row.radius())
        });
        drafts.push(Draft {
            name: format!("{start} to the first of the {holes}"),
            rule: format!("centre {} from the {start} of the flange, {less}", mm(row.first.into())),
            how: format!(
                "Along the {on}, from the {start} to the near side of the first hole: one outside jaw on the end, the tip of the \
                 other in the hole."
            ),
            ..draft("end-distance", Measure::exact(row.first) - row.radius())
        });
        drafts.push(Draft {
            name: format!("first to last of the {holes}"),
            rule: format!(
                "{} pitches of {}, less the diameter {}",
                row.count - 1,
                mm(row.pitch.into()),
                mm(row.diameter.into())
            ),
            how: format!(
                "Tips of the outside jaws in the first and the last of the {holes}, over the metal between them. The pitch \
                 is the reading and one hole's diameter, divided by {}.",
                row.count - 1
            ),
            ..draft("pitch", row.span() - row.diameter.into())
        });
    }
    drafts
}
