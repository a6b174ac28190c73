//! Parts made in pairs: the right piece in the mirror, in its own words.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use nominals::{BuildRules, part};
use shared_types::{
    CharacteristicId, DimensionShape, Hand, Layer, PartPlan, Point, StrokeShape, View,
};

fn plan(text: &str) -> PartPlan {
    let rules = BuildRules {
        general: "m".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    };
    part("part.toml", text, &rules).unwrap_or_else(|mistakes| panic!("{mistakes:?}\n{text}"))
}

/// A panel with a flange on one side and along the bottom, and a slanted slot; all of it turned round by `side`.
fn panel([side, other]: [&str; 2], angle: &str, slot: [&str; 2]) -> String {
    format!(
        "part = 'B4'\ntitle = 'invented'\nquantity = 2\nhands = 'pair'\n[sheet]\nalloy = '5052-O'\nthickness = '0.8 mm'\n\
         [panel]\ngiven = 'outside'\nwidth = '200 mm'\nheight = '120 mm'\n\
         [[panel.flange]]\nedges = ['{side}', 'bottom']\nformed = '14 mm'\nfinished = '10 mm'\nangle = '{angle} deg'\nradius = '3 mm'\n\
         [[panel.flange]]\nedges = ['{other}']\nformed = '20 mm'\nangle = '90 deg'\nradius = '3 mm'\n\
         [panel.relief]\ndiameter = '1/8 in'\n\
         [[panel.hole]]\nname = 'left'\nlength = '40 mm'\nwidth = '10 mm'\nangle = '{}'\nx = '{}'\ny = '60 mm'\n",
        slot[1], slot[0]
    )
}

/// A grain of rounding at either end.
const SLACK_PM: i64 = 200_000;
/// The same of an angle.
const SLACK_MAS: i64 = 720;

/// The least x of any line's end, so that two views can be laid over one another.
fn left_of(view: &View) -> i64 {
    let ends = view.strokes.iter().filter_map(|stroke| match stroke.shape {
        StrokeShape::Line { from, to } => Some(from.x.pm().min(to.x.pm())),
        StrokeShape::Circle { .. } | StrokeShape::Arc { .. } => None,
    });
    ends.min().unwrap()
}

/// A stroke as numbers that do not depend on which end it begins at; lengths and angles apart.
fn stroke(layer: Layer, shape: StrokeShape, left: i64) -> (Layer, u8, Vec<i64>, Vec<i64>) {
    let at = |p: Point| vec![p.x.pm() - left, p.y.pm()];
    match shape {
        StrokeShape::Line { from, to } => {
            let mut ends = [at(from), at(to)];
            // Ends that lie one above the other but for a grain are told apart by their height.
            ends.sort_by_key(|end| (end[0] / 1_000_000_000, end[1] / 1_000_000_000));
            (layer, 0, ends.concat(), Vec::new())
        }
        StrokeShape::Circle { centre, radius } => (
            layer,
            1,
            [at(centre), vec![radius.pm()]].concat(),
            Vec::new(),
        ),
        StrokeShape::Arc {
            centre,
            radius,
            start,
            sweep,
        } => {
            let turn = 360 * 3_600_000;
            let begin = start.mas() + sweep.mas().min(0);
            let angles = vec![begin.rem_euclid(turn), sweep.mas().abs()];
            (layer, 2, [at(centre), vec![radius.pm()]].concat(), angles)
        }
    }
}

fn same(a: &(Layer, u8, Vec<i64>, Vec<i64>), b: &(Layer, u8, Vec<i64>, Vec<i64>)) -> bool {
    let near =
        |a: &[i64], b: &[i64], slack: i64| a.iter().zip(b).all(|(a, b)| (a - b).abs() <= slack);
    (a.0, a.1) == (b.0, b.1) && near(&a.2, &b.2, SLACK_PM) && near(&a.3, &b.3, SLACK_MAS)
}

#[test]
fn the_right_piece_is_the_panel_that_one_would_write_mirrored_by_hand() {
    for angle in ["84", "90", "97"] {
        let pair = plan(&panel(["left", "right"], angle, ["70 mm", "30 deg"]));
        let by_hand = plan(&panel(["right", "left"], angle, ["130 mm", "150 deg"]));
        let right = pair.views(Some(Hand::Right));
        let mut compared = 0;
        for (mirrored, written) in right.iter().zip(&by_hand.views) {
            // A section is drawn as it is cut, whichever flange it goes through.
            if mirrored.title.starts_with("section") {
                continue;
            }
            assert_eq!(mirrored.title, written.title);
            let all = |view: &View| -> Vec<_> {
                let left = left_of(view);
                view.strokes
                    .iter()
                    .map(|s| stroke(s.layer, s.shape, left))
                    .collect()
            };
            let (a, mut b) = (all(mirrored), all(written));
            assert_eq!(a.len(), b.len());
            for one in a {
                let at = b.iter().position(|other| same(&one, other));
                let at = at.unwrap_or_else(|| panic!("{one:?} is not in {b:?}"));
                b.swap_remove(at);
            }
            compared += 1;
        }
        assert_eq!(compared, 3, "blank, formed and trimmed");
        // Each dimension, by its id on the left piece, has the words and the value it has when written so.
        for (id, by_hand_id) in [
            ("formed.height.left", "formed.height.right"),
            ("formed.angle.left", "formed.angle.right"),
            ("formed.height.bottom", "formed.height.bottom"),
            ("trimmed.height.left", "trimmed.height.right"),
            ("blank.line.right", "blank.line.left"),
            ("blank.relief.bottom-left.x", "blank.relief.bottom-right.x"),
        ] {
            let [id, by_hand_id] = [id, by_hand_id].map(|id| CharacteristicId::new(id).unwrap());
            assert_eq!(
                pair.words(&id, Some(Hand::Right)),
                by_hand.words(&by_hand_id, None)
            );
            assert_eq!(
                pair.characteristic(&id).unwrap().nominal,
                by_hand.characteristic(&by_hand_id).unwrap().nominal
            );
        }
    }
}

#[test]
fn words_change_sides_and_names_that_a_person_gave_do_not() {
    let pair = plan(&panel(["left", "right"], "90", ["70 mm", "30 deg"]));
    let name = |id: &str, hand| {
        pair.words(&CharacteristicId::new(id).unwrap(), hand)
            .unwrap()
            .name
            .to_owned()
    };
    assert_eq!(
        name("blank.hole.1.x", Some(Hand::Left)),
        "left edge to left hole 1"
    );
    assert_eq!(
        name("blank.hole.1.x", Some(Hand::Right)),
        "right edge to left hole 1"
    );
    assert_eq!(name("blank.hole.1.x", None), "left edge to left hole 1");
    let titles: Vec<&str> = pair
        .views(Some(Hand::Right))
        .iter()
        .map(|view| view.title.as_str())
        .collect();
    assert!(
        titles.contains(&"section through the right and bottom flanges"),
        "{titles:?}"
    );
    // No text that leaves the crate carries the marks by which sides are swapped.
    assert!(!format!("{pair:?}").contains(['\u{E000}', '\u{E001}']));
    assert_eq!(pair.pieces().count(), 4);
}

#[test]
fn a_mirrored_dimension_measures_as_much_and_an_angle_still_runs_counter_clockwise() {
    let pair = plan(&panel(["left", "right"], "84", ["70 mm", "30 deg"]));
    let right = pair.mirrored.as_ref().unwrap();
    let squared = |a: Point, b: Point| {
        let (dx, dy) = (
            i128::from(a.x.pm() - b.x.pm()),
            i128::from(a.y.pm() - b.y.pm()),
        );
        dx * dx + dy * dy
    };
    let turns_left = |vertex: Point, from: Point, to: Point| {
        let [ax, ay, bx, by] = [
            from.x.pm() - vertex.x.pm(),
            from.y.pm() - vertex.y.pm(),
            to.x.pm() - vertex.x.pm(),
            to.y.pm() - vertex.y.pm(),
        ]
        .map(i128::from);
        ax * by - ay * bx > 0
    };
    let both = pair.views.iter().zip(&right.views);
    let dimensions: Vec<_> = both
        .flat_map(|(a, b)| a.dimensions.iter().zip(&b.dimensions))
        .collect();
    assert!(dimensions.len() >= 25, "{}", dimensions.len());
    for (a, b) in dimensions {
        assert_eq!(a.characteristic, b.characteristic);
        match (a.shape, b.shape) {
            (
                DimensionShape::Linear { from, to, offset },
                DimensionShape::Linear {
                    from: f,
                    to: t,
                    offset: o,
                },
            ) => {
                assert_eq!(squared(from, to), squared(f, t));
                assert_eq!(offset.pm(), -o.pm());
            }
            (
                DimensionShape::Angle { vertex, from, to },
                DimensionShape::Angle {
                    vertex: v,
                    from: f,
                    to: t,
                },
            ) => assert_eq!(turns_left(vertex, from, to), turns_left(v, f, t)),
            (
                DimensionShape::Diameter { radius, .. },
                DimensionShape::Diameter { radius: r, .. },
            ) => {
                assert_eq!(radius, r);
            }
            other => panic!("{other:?}"),
        }
    }
}
