//! What contradicts itself in the rows of a flange: holes off its flat, or into one another.

use super::Run;
use crate::draft::mm;
use crate::flange::Contradictions;

/// Tells every row that does not lie in the flat of its flange with metal all round.
pub(crate) fn check<E>(run: &Run<'_, '_, E>, wrong: &mut Contradictions<'_, '_>) {
    let on = &run.label.words;
    let rows = &run.bent.flange.rivets;
    for (index, row) in rows.iter().enumerate() {
        let r = row.radius();
        let (down, flat) = (row.edge_distance.pm() as f64, run.flat());
        if down <= r.pm() || down + r.pm() >= flat.pm() {
            wrong.tell(
                row.edge_distance_at,
                format!(
                    "panel.flange.rivets.edge_distance: found {}, where the holes leave the flat of the {on}, expected above \
                     {} and below {}: from its free edge to its bend tangent line there are {}",
                    row.edge_distance,
                    mm(r),
                    mm(flat - r),
                    mm(flat)
                ),
            );
        }
        if row.first.pm() as f64 <= r.pm() || run.left_over(row).pm() <= r.pm() {
            let over = row.span() + row.first.into() + r;
            wrong.tell(
                row.at,
                format!(
                    "panel.flange.rivets: the row reaches from {} to {} along the {on}, which is {} long from its {}, expected it \
                     to begin and end within: another first, a smaller pitch or count",
                    mm(super::Measure::exact(row.first) - r),
                    mm(over),
                    mm(run.length),
                    run.start
                ),
            );
        }
        let into = rows[..index].iter().any(|earlier| {
            let least = (earlier.radius() + r).pm();
            earlier.centres().any(|[x, y]| {
                let apart = |[u, v]: [f64; 2]| (u - x).hypot(v - y);
                row.centres().any(|centre| apart(centre) <= least)
            })
        });
        if into {
            wrong.tell(
                row.at,
                format!("panel.flange.rivets: on the {on} it runs into an earlier row, expected metal between them"),
            );
        }
    }
}
