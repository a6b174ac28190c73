//! A right-hand piece of a pair that goes into another part, with a computed characteristic, judged before
//! its plan changed. All invented.

use std::sync::Arc;

use shared_types::*;

use super::plan::plan;
use super::{Spine, bench, id, piece, reads};

/// The bulkhead as a pair that goes into S2; its first two characteristics have a difference.
fn paired(upper: &str) -> PartPlan {
    let mut plan = plan("Float bulkhead, bay 2");
    let q = |text| Quantity::parse(text).expect("a quantity");
    let first = &mut plan.characteristics[2];
    first.limits = Limits::new(first.limits.lower(), Some(q(upper))).expect("limits");
    let [width, height] = [2, 3].map(|n| plan.characteristics[n].id.clone());
    let computed = Characteristic {
        id: id("formed.difference"),
        number: 20,
        name: "difference of the two".to_owned(),
        nominal: q("115 mm"),
        limits: Limits::new(None, Some(q("115.1 mm"))).expect("limits"),
        derived: Some(Derived::Difference {
            of: [width, height],
            absolute: true,
        }),
        ..plan.characteristics[2].clone()
    };
    plan.characteristics.push(computed);
    plan.digest = upper.to_owned();
    plan.fit = Some(Fit {
        into: PartId::new("S2").expect("a name"),
        clearance: Length::parse("0.5 mm").expect("a length"),
        source: FitSource::Plan,
        first_article_mates: None,
    });
    let words = plan.characteristics.iter().map(|c| Words {
        name: format!("{}, on the right piece", c.name),
        how: c.how.clone(),
        if_small: c.if_small.clone(),
        if_large: c.if_large.clone(),
    });
    plan.mirrored = Some(Mirrored {
        words: words.collect(),
        views: plan.views.clone(),
    });
    plan
}

pub(super) fn play(spine: &mut Spine) {
    let adopt =
        |spine: &mut Spine, plan| spine.put(Event::Adopted(Arc::new(plan))).expect("accepted");
    let revision = adopt(spine, paired("287 mm"));
    let mut skin = plan("Skin with its opening");
    skin.part = PartId::new("S2").expect("a name");
    adopt(spine, skin);
    spine
        .put(Event::Laid {
            bench: bench(),
            piece: piece("B2/3R"),
            stage: Stage::Formed,
            reason: None,
        })
        .expect("accepted");
    let first = spine.shop.seq.0 + 1;
    let of: Vec<CharacteristicId> = paired("287 mm").characteristics[2..4]
        .iter()
        .map(|c| c.id.clone())
        .collect();
    for (digits, of, derived) in [
        ("286.02", &of[0], Vec::new()),
        (
            "170.5",
            &of[1],
            vec![DerivedFinding {
                characteristic: id("formed.difference"),
                value: Quantity::parse("115.52 mm").expect("a length"),
                verdict: Verdict::TooLarge,
                from: vec![Seq(first), Seq(first + 1)],
                grounds: None,
            }],
        ),
    ] {
        let finding = Finding::Judged {
            piece: piece("B2/3R"),
            characteristic: of.clone(),
            revision,
            value: Quantity::parse(&format!("{digits} mm")).expect("a length"),
            verdict: Verdict::Pass,
            into: None,
            fitted: None,
            derived,
            correction: None,
            grounds: None,
        };
        spine.write(reads("caliper-1", digits, Unit::Millimetre), finding);
    }
    adopt(spine, paired("286.5 mm"));
    let gone = PartId::new("S2").expect("a name");
    spine.put(Event::Withdrawn(gone)).expect("accepted");
}
