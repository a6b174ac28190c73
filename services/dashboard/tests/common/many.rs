//! The same dimension of many pieces, read one after the other. All invented, but for the numbers of published sets.

use std::sync::Arc;

use shared_types::*;

use super::plan::plan;
use super::{Spine, id, piece, reads};

/// The bulkhead, of which so many are made, with another nominal and other limits of its width.
pub fn made_often(quantity: u32, nominal: &str, limits: [&str; 2]) -> PartPlan {
    let mut plan = plan("Float bulkhead, bay 2");
    let q = |text: &str| Quantity::parse(text).expect("a quantity");
    plan.quantity = quantity;
    plan.digest = format!("{quantity} {nominal} {limits:?}");
    let width = &mut plan.characteristics[2];
    width.nominal = q(nominal);
    width.limits = Limits::new(Some(q(limits[0])), Some(q(limits[1]))).expect("limits");
    plan
}

/// The width's id.
pub const WIDTH: &str = "formed.across.width";

/// Adds the mean of so many readings of the width.
pub fn with_mean(mut plan: PartPlan, readings: u8) -> PartPlan {
    let mean = Characteristic {
        id: id("formed.across.width.mean"),
        number: 40,
        name: "mean width at the root of the flanges".to_owned(),
        derived: Some(Derived::Mean {
            of: id(WIDTH),
            readings,
        }),
        ..plan.characteristics[2].clone()
    };
    plan.characteristics.push(mean);
    plan
}

/// The plan comes into force.
pub fn adopt(spine: &mut Spine, plan: PartPlan) -> Seq {
    spine.write(Event::Adopted(Arc::new(plan)), Finding::Noted)
}

/// One reading of one piece, judged by the plan in force. In millimetres, or of an angle in degrees.
pub fn read(spine: &mut Spine, of: &str, on: &str, digits: &str) -> Seq {
    judged(spine, of, on, digits, None, Vec::new())
}

/// The same at fit-up or while a mating piece is named.
pub fn judged(
    spine: &mut Spine,
    of: &str,
    on: &str,
    digits: &str,
    fitted: Option<Seq>,
    derived: Vec<DerivedFinding>,
) -> Seq {
    let piece = piece(on);
    let adopted = &spine.shop.parts[piece.part()];
    let c = adopted.plan.characteristic(&id(of)).expect("a dimension");
    let unit = match c.nominal {
        Quantity::Length(_) => Unit::Millimetre,
        Quantity::Angle(_) => Unit::Degree,
    };
    let value = Reading::new(digits, unit).expect("a reading").value;
    let verdict = match c.limits.place(value).expect("of one kind") {
        Place::Below => Verdict::TooSmall,
        Place::Within => Verdict::Pass,
        Place::Above => Verdict::TooLarge,
    };
    let finding = Finding::Judged {
        characteristic: c.id.clone(),
        revision: adopted.seq,
        piece,
        value,
        verdict,
        into: None,
        fitted,
        derived,
        correction: None,
        grounds: None,
    };
    spine.write(reads("caliper-1", digits, unit), finding)
}

/// The width of the first pieces, one reading each.
pub fn widths(spine: &mut Spine, digits: &[&str]) {
    for (nth, digits) in (1..).zip(digits) {
        read(spine, WIDTH, &format!("B2/{nth}"), digits);
    }
}

/// The width of the first pieces, several readings each, and their mean with the last of each piece.
pub fn groups(spine: &mut Spine, groups: &[Vec<&str>]) {
    for (nth, group) in (1..).zip(groups) {
        let on = format!("B2/{nth}");
        let (last, first) = group.split_last().expect("a reading");
        let mut from: Vec<Seq> = first
            .iter()
            .map(|digits| read(spine, WIDTH, &on, digits))
            .collect();
        from.push(Seq(spine.shop.seq.0 + 1));
        let values: Vec<Quantity> = group
            .iter()
            .map(|digits| Quantity::parse(&format!("{digits} mm")).expect("a length"))
            .collect();
        let mean = DerivedFinding {
            characteristic: id("formed.across.width.mean"),
            value: Quantity::mean(&values).expect("a mean"),
            verdict: Verdict::Pass,
            from,
            grounds: None,
        };
        judged(spine, WIDTH, &on, last, None, vec![mean]);
    }
}

/// A run of widths that drifts and once jumps, for looking at.
pub fn play(spine: &mut Spine) {
    adopt(spine, made_often(30, "50 mm", ["44 mm", "56 mm"]));
    widths(
        spine,
        &[
            "49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1", "52.9",
            "53.3", "61.5", "52.2", "49.1", "50.4", "48.7", "43.2", "50.2", "49.9", "51.0", "50.6",
        ],
    );
}
