//! What a builder should know of a panel of corners before cutting it.

use shared_types::Warning;

use super::curved;
use super::shape::Shape;
use crate::hole::{self, Hole};
use crate::stock::{Grain, Stock};
use crate::{guidance, rivets};

pub(super) fn warnings(shape: &Shape<'_>, stock: &Stock) -> Vec<Warning> {
    let mut told = Vec::new();
    for flange in &shape.panel.flanges {
        let alike = shape.alike(flange);
        let Some(bent) = alike.first().and_then(|piece| shape.bents[*piece].as_ref()) else {
            continue;
        };
        let what = format!("flange on {}", shape.names(&alike));
        told.extend(guidance::radius(&what, flange.radius, &stock.sheet));
        told.extend(guidance::short_flange(&what, flange.formed, &bent.bend));
        if let Some(fastener) = flange.fastener {
            let kept = flange.finished.unwrap_or(flange.formed);
            told.extend(rivets::flange(&what, kept, fastener, &bent.bend));
        }
    }
    if let Some(relief) = &shape.panel.relief {
        told.extend(guidance::relief(relief.diameter, &stock.sheet));
    }
    for (piece, _) in shape.bent() {
        let along = match shape.outline().along(piece) {
            Some([_, 0]) => Some(Grain::Width),
            Some([0, _]) => Some(Grain::Height),
            _ => None,
        };
        if along.is_some() && along == stock.grain {
            told.push(guidance::along_grain(&shape.name(piece)));
        }
    }
    told.extend(curved::warnings(shape, stock));
    told.extend(guidance::near_bend(
        &shape.panel.holes,
        stock.sheet.thickness,
        |hole| shape.clear_of_bends(hole),
    ));
    told.extend(rivets::holes(
        &shape.panel.holes,
        stock.sheet.thickness,
        |hole| nearest(shape, hole),
    ));
    told.extend(hole::warnings(&shape.panel.holes));
    told
}

/// From a hole's centre to the nearest plain edge.
fn nearest(shape: &Shape<'_>, hole: &Hole) -> Option<f64> {
    (0..shape.count())
        .filter(|edge| shape.bents[*edge].is_none())
        .map(|edge| shape.web.piece(edge).distance(hole.centre()).0)
        .min_by(f64::total_cmp)
}
