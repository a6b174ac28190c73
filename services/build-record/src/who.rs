//! Who was named at the bench of an entry when it came.

use shared_types::{Entry, Event};

use crate::ledger::Ledger;

/// The name; `None` where nobody was named, and of what belongs to no bench.
pub(crate) fn named<'a>(ledger: &Ledger<'a>, entry: &'a Entry) -> Option<&'a str> {
    let operator = match &entry.fact.event {
        Event::Opened { .. }
        | Event::Adopted(_)
        | Event::Withdrawn(_)
        | Event::GaugeSeen { .. } => return None,
        Event::Operator { name, .. } => name,
        Event::Observed(observation) => {
            let mut gauges = ledger.setup.into_iter().flat_map(|s| &s.gauges);
            let gauge = gauges.find(|g| g.id == observation.gauge);
            gauge.map_or("", |gauge| ledger.operator(&gauge.bench))
        }
        Event::Laid { bench, .. }
        | Event::Mated { bench, .. }
        | Event::Picked { bench, .. }
        | Event::Assigned { bench, .. }
        | Event::Dismissed { bench, .. }
        | Event::CheckBegun { bench, .. }
        | Event::CheckLeft { bench, .. }
        | Event::Temperature { bench, .. }
        | Event::Study { bench, .. }
        | Event::Disposed { bench, .. }
        | Event::Voided { bench, .. } => ledger.operator(bench),
    };
    Some(operator).filter(|name| !name.is_empty())
}
