//! What a changed part file, or a mating piece named anew, means for what was judged already.
#![allow(missing_docs)]

mod bench;

use bench::{Play, characteristic, id, plan};
use shared_types::*;

const MM: Unit = Unit::Millimetre;

fn outdated(play: &Play, piece: &str) -> Vec<(String, Changed)> {
    let all = play.shop.outdated(&piece.parse().expect("a piece"));
    all.into_iter()
        .map(|o| (o.characteristic.to_string(), o.why))
        .collect()
}

#[test]
fn a_revision_never_judges_again_and_names_what_it_would_judge_by_other_limits() {
    let formed = Stage::Formed;
    let revision = |low| {
        plan(
            "B4",
            vec![
                characteristic(1, "left", formed, ["12.7 mm", low, "13.2 mm"]),
                characteristic(2, "right", formed, ["12.7 mm", "12.2 mm", "13.2 mm"]),
            ],
        )
    };
    let mut play = Play::new();
    play.adopt(revision("12.2 mm"));
    let first_at = play.shop.parts[&PartId::new("B4").unwrap()].at_us;
    play.lay("B4/1", formed).unwrap();
    play.measure("caliper", "12.3", MM);
    play.measure("caliper", "12.7", MM);
    assert_eq!(outdated(&play, "B4/1"), []);
    play.adopt(revision("12.5 mm"));
    assert_eq!(
        outdated(&play, "B4/1"),
        [("formed.left".to_owned(), Changed::Plan(Some(first_at)))]
    );
    // It stands as it was judged, and is not due, until somebody measures it again.
    assert_eq!(play.standing("B4/1", "formed.left"), "12.3 mm pass");
    assert_eq!(play.due(), "nothing");
    play.pick("formed.left").unwrap();
    assert_eq!(play.measure("caliper", "12.3", MM), "formed.left too small");
    assert_eq!(outdated(&play, "B4/1"), []);
    // Back to the first limits: it is the second revision's verdict that is of other limits now.
    play.adopt(revision("12.2 mm"));
    assert_eq!(outdated(&play, "B4/1").len(), 1);
    // A revision that changes no limits leaves no trace.
    let piece: PieceId = "B4/2".parse().unwrap();
    play.lay("B4/2", formed).unwrap();
    play.measure("caliper", "12.3", MM);
    for _ in 0..FORMER_KEPT_MAX {
        play.adopt(revision("12.2 mm"));
    }
    assert_eq!(play.shop.outdated(&piece), []);
    // One older than those kept may have wanted anything.
    play.adopt(revision("12.2 mm"));
    assert_eq!(
        outdated(&play, "B4/2"),
        [("formed.left".to_owned(), Changed::Plan(None))]
    );
}

#[test]
fn what_was_judged_before_the_mating_piece_was_named_or_after_it_was_measured_anew_is_named_too() {
    let formed = Stage::Formed;
    let mut play = Play::new();
    let opening = characteristic(1, "opening", formed, ["287 mm", "286 mm", "288 mm"]);
    play.adopt(plan("S2", vec![opening]));
    let revision = |low| {
        let width = Characteristic {
            follows: Some(Follows {
                characteristic: id("formed.opening"),
                planned: Quantity::parse("287 mm").unwrap(),
            }),
            ..characteristic(1, "width", formed, ["286 mm", low, "286.2 mm"])
        };
        PartPlan {
            fit: Some(Fit {
                into: PartId::new("S2").unwrap(),
                clearance: Length::parse("0.5 mm").unwrap(),
                source: FitSource::Measured,
                first_article_mates: None,
            }),
            ..plan("B3", vec![width])
        }
    };
    play.adopt(revision("285.8 mm"));
    play.lay("S2/1", formed).unwrap();
    play.measure("caliper", "286.6", MM);
    play.lay("B3/1", formed).unwrap();
    play.measure("caliper", "286.0", MM);
    let changed = |why| [("formed.width".to_owned(), why)];
    play.mate("B3/1", "S2/1").unwrap();
    assert_eq!(outdated(&play, "B3/1"), changed(Changed::Fit));
    play.pick("formed.width").unwrap();
    play.measure("caliper", "285.6", MM);
    assert_eq!(outdated(&play, "B3/1"), []);
    // Named again with nothing changed, the limits are the same.
    play.mate("B3/1", "S2/1").unwrap();
    assert_eq!(outdated(&play, "B3/1"), []);
    // A new revision wants other nominals: what moved them is of the former, and no longer holds.
    play.adopt(revision("285.7 mm"));
    let piece: PieceId = "B3/1".parse().unwrap();
    assert_eq!(play.shop.fitting(&piece, play.shop.mate(&piece)), None);
    assert!(matches!(
        outdated(&play, "B3/1").as_slice(),
        [(_, Changed::Plan(Some(_)))]
    ));
}
