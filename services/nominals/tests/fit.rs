//! Parts that go into others: their size, what of it moves with the mating piece, the gaps round them.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use nominals::{BuildRules, Part, PartFile, build, part};
use shared_types::{
    Characteristic, CharacteristicId, FitSource, Hand, Layer, PartPlan, Point, Quantity, Stage,
    StrokeShape, Tolerance,
};

const HEAD: &str =
    "title = 'invented'\nquantity = 2\n[sheet]\nalloy = '5052-O'\nthickness = '0.8 mm'\n";

fn rules() -> BuildRules {
    BuildRules {
        general: "m".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    }
}

/// A station frame whose opening is stated outright.
fn frame() -> PartFile {
    file(
        "S2",
        "[[characteristic]]\nid = 'opening.width'\nname = 'opening, width'\nstage = 'formed'\nnominal = '286 mm'\nplus = '1 mm'\n\
         minus = '1 mm'\nhow = 'Inside jaws.'\n\
         [[characteristic]]\nid = 'opening.angle'\nname = 'opening, angle'\nstage = 'formed'\nnominal = '90 deg'\nplus = '1 deg'\n\
         minus = '1 deg'\nhow = 'Angle gauge.'\n\
         [[derived]]\nid = 'opening.mean'\nname = 'mean'\nmean = 'formed.opening.width'\nreadings = 2\n",
    )
}

fn file(name: &str, rest: &str) -> PartFile {
    PartFile {
        name: format!("parts/{name}.toml"),
        text: format!("part = '{name}'\n{HEAD}{rest}"),
    }
}

/// A bulkhead with a hole, `fit` and how its width is given.
fn bulkhead(fit: &str, width: &str) -> PartFile {
    file(
        "B2",
        &format!(
            "{fit}[panel]\n{width}height = '171 mm'\ndiagonals = true\n\
             [[panel.flange]]\nedges = ['left', 'right', 'bottom', 'top']\nformed = '14 mm'\nfinished = '10 mm'\nangle = '84 deg'\nradius = '3 mm'\n\
             [panel.relief]\ndiameter = '1/8 in'\n[[panel.hole]]\ndiameter = '20 mm'\nx = '40 mm'\ny = '60 mm'\n"
        ),
    )
}

const FOLLOWS: &str = "[fit]\ninto = 'S2'\nclearance = '0.5 mm'\nwidth = 'formed.opening.width'\n";

fn told(files: &[PartFile]) -> String {
    let (_, mistakes) = build(files, &rules());
    let lines: Vec<String> = mistakes.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

fn sound(files: &[PartFile]) -> Vec<Part> {
    let (parts, mistakes) = build(files, &rules());
    assert!(mistakes.is_empty(), "{mistakes:?}");
    assert_eq!(parts.len(), files.len());
    parts
}

fn nominals(plan: &PartPlan) -> Vec<(&str, Quantity)> {
    plan.characteristics
        .iter()
        .map(|c| (c.id.as_str(), c.nominal))
        .collect()
}

#[test]
fn a_part_is_as_large_as_the_opening_it_goes_into_less_the_clearance_on_each_side() {
    let follows = bulkhead(FOLLOWS, "given = 'opening'\n");
    // In the opening the height is given of it too: 171 mm less 1 mm.
    let alone = bulkhead("", "given = 'outside'\nwidth = '285 mm'\n");
    let alone = part("alone", &alone.text.replace("171 mm", "170 mm"), &rules()).unwrap();
    // Whichever file comes first.
    for files in [vec![frame(), follows.clone()], vec![follows, frame()]] {
        let parts = sound(&files);
        let part = parts
            .iter()
            .find(|part| part.plan.part.as_str() == "B2")
            .unwrap();
        assert_eq!(nominals(&part.plan), nominals(&alone));
        assert_eq!(part.plan.views, alone.views);
        let fit = part.plan.fit.as_ref().unwrap();
        assert_eq!((fit.into.as_str(), fit.source), ("S2", FitSource::Plan));
        assert_eq!(part.taken.len(), 1);
        assert_eq!(part.taken[0].nominal, Quantity::parse("286 mm").unwrap());
        assert_eq!(files[part.file].name, "parts/B2.toml");
        assert!(
            part.plan
                .characteristics
                .iter()
                .all(|c| c.follows.is_none())
        );
    }
}

#[test]
fn what_moves_one_for_one_with_the_measured_opening_follows_it_and_nothing_else_does() {
    let measured = bulkhead(
        &format!("{FOLLOWS}source = 'measured'\n"),
        "given = 'opening'\n",
    );
    let parts = sound(&[frame(), measured]);
    let plan = &parts[1].plan;
    let following: Vec<&str> = plan
        .characteristics
        .iter()
        .filter(|c| c.follows.is_some())
        .map(|c| c.id.as_str())
        .collect();
    assert_eq!(
        following,
        [
            "blank.width",
            "formed.across.width.root",
            "formed.across.width.free",
            "trimmed.across.width.free"
        ]
    );
    let find = |id: &str| -> &Characteristic {
        plan.characteristic(&CharacteristicId::new(id).unwrap())
            .unwrap()
    };
    let follows = find("blank.width").follows.as_ref().unwrap();
    assert_eq!(follows.characteristic.as_str(), "formed.opening.width");
    assert_eq!(follows.planned, Quantity::parse("286 mm").unwrap());
    // A diagonal moves, but not one for one: it stays as planned, and says so.
    assert!(
        find("formed.diagonal.rising")
            .rule
            .contains("does not move one for one")
    );
    assert!(!find("blank.hole.1.x").rule.contains("S2"));
}

#[test]
fn a_plate_and_a_chain_of_parts_follow_too() {
    let door = file(
        "D1",
        "[fit]\ninto = 'H1'\nclearance = '0.75 mm'\nwidth = 'blank.hole.1.length'\nheight = 'blank.hole.1.width'\nsource = 'measured'\n[plate]\n",
    );
    let ring = file(
        "H1",
        "[fit]\ninto = 'S2'\nclearance = '0 mm'\nwidth = 'formed.opening.width'\n[plate]\nheight = '190 mm'\nwidth = '286 mm'\n\
         [[plate.hole]]\nlength = '150 mm'\nwidth = '90 mm'\nx = '143 mm'\ny = '95 mm'\n",
    );
    let parts = sound(&[door, ring, frame()]);
    assert_eq!(
        nominals(&parts[0].plan),
        [
            ("blank.width", Quantity::parse("148.5 mm").unwrap()),
            ("blank.height", Quantity::parse("88.5 mm").unwrap())
        ]
    );
    let follows = |at: usize| {
        parts[0].plan.characteristics[at]
            .follows
            .clone()
            .unwrap()
            .characteristic
    };
    assert_eq!(
        [follows(0).as_str(), follows(1).as_str()],
        ["blank.hole.1.length", "blank.hole.1.width"]
    );
    assert!(parts[1].plan.characteristics[0].rule.contains("286 mm"));
}

#[test]
fn gap_stations_stand_round_the_edge_with_the_limits_stated() {
    let fit = "[fit]\ninto = 'S2'\nclearance = '0.5 mm'\n\
               [[fit.gap]]\nedges = ['left', 'top']\ncount = 3\nlargest = '1 mm'\nsmallest = '0 mm'\n\
               [[fit.gap]]\nedges = ['top']\nat = ['10 mm']\nnames = ['at the vent']\nlargest = '0.8 mm'\nsmallest = '0.2 mm'\n";
    let parts = sound(&[
        bulkhead(fit, "given = 'outside'\nwidth = '285 mm'\n"),
        frame(),
    ]);
    let plan = &parts[0].plan;
    let gaps: Vec<(&str, &str, String)> = plan
        .at(Stage::FitUp)
        .map(|c| {
            assert_eq!(c.nominal, Quantity::parse("0.5 mm").unwrap());
            assert_eq!(c.tolerance, Tolerance::Stated);
            let [lower, upper] = [c.limits.lower(), c.limits.upper()].map(|limit| limit.unwrap());
            (
                c.id.as_str(),
                c.name.as_str(),
                format!("{lower} to {upper}"),
            )
        })
        .collect();
    let expected = [
        (
            "fit-up.gap.left.1",
            "gap at the left edge, station 1 of 3",
            "0 mm to 1 mm",
        ),
        (
            "fit-up.gap.left.2",
            "gap at the left edge, station 2 of 3",
            "0 mm to 1 mm",
        ),
        (
            "fit-up.gap.left.3",
            "gap at the left edge, station 3 of 3",
            "0 mm to 1 mm",
        ),
        (
            "fit-up.gap.top.1",
            "gap at the top edge, station 1 of 3",
            "0 mm to 1 mm",
        ),
        (
            "fit-up.gap.top.2",
            "gap at the top edge, station 2 of 3",
            "0 mm to 1 mm",
        ),
        (
            "fit-up.gap.top.3",
            "gap at the top edge, station 3 of 3",
            "0 mm to 1 mm",
        ),
        (
            "fit-up.gap.top.4",
            "gap at the top edge, at the vent",
            "0.2 mm to 0.8 mm",
        ),
    ];
    assert_eq!(gaps, expected.map(|(a, b, c)| (a, b, c.to_owned())));
    let view = plan
        .views
        .iter()
        .find(|view| view.stage == Stage::FitUp)
        .unwrap();
    assert_eq!(view.dimensions.len(), gaps.len());
    assert_eq!(
        view.strokes
            .iter()
            .filter(|s| s.layer == Layer::Hidden)
            .count(),
        4
    );
}

#[test]
fn gaps_go_round_an_outline_of_corners_and_change_sides_with_the_hand() {
    let fit = "hands = 'pair'\n[fit]\ninto = 'S2'\nclearance = '0.5 mm'\n[[fit.gap]]\ncount = 1\nlargest = '1 mm'\n";
    let trapezoid = PartFile {
        name: "parts/B5.toml".to_owned(),
        text: format!(
            "part = 'B5'\ntitle = 'invented'\nquantity = 2\n{fit}[sheet]\nalloy = '5052-O'\nthickness = '0.8 mm'\n\
             [panel]\ngiven = 'outside'\ntrapezoid = {{ bottom = '190 mm', top = '130 mm', height = '120 mm', offset = '10 mm' }}\n\
             [[panel.flange]]\nedges = ['bottom', 'left', 'right']\nformed = '14 mm'\nangle = '90 deg'\nradius = '3 mm'\n\
             [panel.relief]\ndiameter = '1/8 in'\n"
        ),
    };
    let parts = sound(&[trapezoid, frame()]);
    let plan = &parts[0].plan;
    let gaps: Vec<&str> = plan.at(Stage::FitUp).map(|c| c.id.as_str()).collect();
    assert_eq!(
        gaps,
        [
            "fit-up.gap.bottom.1",
            "fit-up.gap.right.1",
            "fit-up.gap.top.1",
            "fit-up.gap.left.1"
        ]
    );
    let right = CharacteristicId::new("fit-up.gap.right.1").unwrap();
    assert_eq!(
        plan.words(&right, Some(Hand::Right)).unwrap().name,
        "gap at the left edge, station 1 of 1"
    );
    // The opening is drawn outside the part on every side.
    let view = plan
        .views
        .iter()
        .find(|view| view.stage == Stage::FitUp)
        .unwrap();
    let reach = |layer: Layer| {
        let ends = view
            .strokes
            .iter()
            .filter(|s| s.layer == layer)
            .flat_map(|s| match s.shape {
                StrokeShape::Line { from, to } => [from, to],
                other => panic!("{other:?}"),
            });
        let all: Vec<_> = ends.collect();
        let x: Vec<i64> = all.iter().map(|p: &Point| p.x.pm()).collect();
        let y: Vec<i64> = all.iter().map(|p: &Point| p.y.pm()).collect();
        let ends = |all: &[i64]| (*all.iter().min().unwrap(), *all.iter().max().unwrap());
        [ends(&x), ends(&y)]
    };
    let (part, opening) = (reach(Layer::Cut), reach(Layer::Hidden));
    for (outer, inner) in opening.into_iter().zip(part) {
        assert!(outer.0 < inner.0 && outer.1 > inner.1);
    }
}

#[test]
fn what_does_not_go_into_anything_is_told_at_its_line() {
    let cases: Vec<(&str, Vec<PartFile>)> = vec![
        ("missing", vec![bulkhead(FOLLOWS, "given = 'opening'\n")]),
        (
            "itself",
            vec![bulkhead(
                &FOLLOWS.replace("S2", "B2"),
                "given = 'opening'\n",
            )],
        ),
        (
            "faulty",
            vec![
                bulkhead(FOLLOWS, "given = 'opening'\n"),
                PartFile {
                    text: frame().text.replace("'286 mm'", "'286'"),
                    ..frame()
                },
            ],
        ),
        (
            "characteristic",
            vec![
                bulkhead(
                    &format!(
                        "{}height = 'formed.opening.angle'\n",
                        FOLLOWS.replace("opening.width", "opening.widht")
                    ),
                    "given = 'opening'\n",
                ),
                frame(),
            ],
        ),
        (
            "derived",
            vec![
                bulkhead(
                    &FOLLOWS.replace("opening.width", "opening.mean"),
                    "given = 'opening'\n",
                ),
                frame(),
            ],
        ),
        (
            "contradiction",
            vec![
                bulkhead(
                    FOLLOWS,
                    "given = 'opening'\nwidth = '285 mm'\nclearance = '0.4 mm'\n",
                ),
                frame(),
            ],
        ),
        (
            "given",
            vec![bulkhead(FOLLOWS, "given = 'outside'\n"), frame()],
        ),
        (
            "measured",
            vec![
                bulkhead(
                    "[fit]\ninto = 'S2'\nclearance = '-0.5 mm'\nsource = 'measured'\n",
                    "given = 'outside'\nwidth = '285 mm'\n",
                ),
                frame(),
            ],
        ),
        (
            "circle",
            vec![
                file(
                    "D1",
                    "[fit]\ninto = 'D2'\nclearance = '0 mm'\nwidth = 'blank.width'\n[plate]\nheight = '20 mm'\n",
                ),
                file(
                    "D2",
                    "[fit]\ninto = 'D1'\nclearance = '0 mm'\nwidth = 'blank.width'\n[plate]\nheight = '20 mm'\n",
                ),
            ],
        ),
        (
            "family",
            vec![
                file(
                    "D1",
                    &format!(
                        "{FOLLOWS}[plate]\noutline = [['0 mm', '0 mm'], ['9 mm', '0 mm'], ['0 mm', '9 mm']]\n"
                    ),
                ),
                frame(),
            ],
        ),
        (
            "too large",
            vec![
                file(
                    "D1",
                    &format!(
                        "{}[plate]\nheight = '2 mm'\n",
                        FOLLOWS.replace("0.5 mm", "143 mm")
                    ),
                ),
                frame(),
            ],
        ),
        (
            "gaps",
            vec![
                bulkhead(
                    "[fit]\ninto = 'S2'\nclearance = '0.5 mm'\n[[fit.gap]]\nedges = ['lefft', 3]\ncount = 1\nlargest = '1 mm'\n\
                     [[fit.gap]]\nat = ['180 mm']\nlargest = '1 mm'\n",
                    "given = 'outside'\nwidth = '285 mm'\n",
                ),
                frame(),
            ],
        ),
        (
            "gap limits",
            vec![
                bulkhead(
                    "[fit]\ninto = 'S2'\nclearance = '0.5 mm'\n[[fit.gap]]\ncount = 1\nlargest = '0.4 mm'\n\
                     [[fit.gap]]\ncount = 1\nlargest = '1 mm'\nsmallest = '0.6 mm'\n\
                     [[fit.gap]]\ncount = 2\nlargest = '1 mm'\nnames = ['chine']\n[[fit.gap]]\nlargest = '1 mm'\n",
                    "given = 'outside'\nwidth = '285 mm'\n",
                ),
                frame(),
            ],
        ),
        (
            "twice",
            vec![
                frame(),
                PartFile {
                    name: "parts/S3.toml".to_owned(),
                    ..frame()
                },
            ],
        ),
    ];
    let all: Vec<String> = cases
        .iter()
        .map(|(name, files)| format!("# {name}\n{}", told(files)))
        .collect();
    insta::assert_snapshot!(all.join("\n"), @r#"
    # missing
    parts/B2.toml:8: fit.into: found S2, which no part file of this build defines
    # itself
    parts/B2.toml:8: fit.into: found the part itself, expected another
    # faulty
    parts/B2.toml:8: fit.into: S2 has mistakes of its own, expected it without: this part follows from it
    parts/S2.toml:11: characteristic.nominal: found "286", unit missing, expected one of mm, cm, m, µm, in, deg
    # characteristic
    parts/B2.toml:10: fit.width: found "formed.opening.widht", expected the id of a characteristic of S2; did you mean "formed.opening.width"?
    parts/B2.toml:11: fit.height: found "formed.opening.angle" of S2, which is an angle, expected a length
    # derived
    parts/B2.toml:10: fit.width: found "formed.opening.mean" of S2, which is computed from readings, expected a length that is measured
    # contradiction
    parts/B2.toml:13: panel.width: found 285 mm, but fit.width gives 286 mm, expected the same, or none here
    parts/B2.toml:14: panel.clearance: found 0.4 mm, but fit.clearance is 0.5 mm, expected the same, or none here
    # given
    parts/B2.toml:12: panel.given: found "outside" beside fit.width, expected "opening": it gives the opening
    # measured
    parts/B2.toml:9: fit.clearance: found -0.5 mm, expected 0 mm or more
    parts/B2.toml:10: fit.source: found "measured" without width or height, expected one of them: what of the mating piece gives it
    # circle
    parts/D1.toml:8: fit.into: found a circle of parts that go into one another, D1 into D2, D2 into D1, expected one of them to stand alone
    parts/D2.toml:8: fit.into: found a circle of parts that go into one another, D1 into D2, D2 into D1, expected one of them to stand alone
    # family
    parts/D1.toml:7: fit.width: found it for a part whose size it cannot give, expected a [panel] or a [plate] with width and height
    # too large
    parts/D1.toml:11: plate: width: fit.width gives 0 mm, expected a length above 0 mm, at most 10000 mm
    # gaps
    parts/B2.toml:11: fit.gap.edges: found 3, expected one of left, right, bottom, top
    parts/B2.toml:11: fit.gap.edges: found lefft, expected one of left, right, bottom, top
    parts/B2.toml:15: fit.gap.at: found 180 mm, expected 0 mm to 171 mm, the length of the left edge
    parts/B2.toml:15: fit.gap.at: found 180 mm, expected 0 mm to 171 mm, the length of the right edge
    # gap limits
    parts/B2.toml:12: fit.gap.largest: found 0.4 mm, expected at least the clearance wanted, 0.5 mm
    parts/B2.toml:16: fit.gap.smallest: found 0.6 mm, expected at most the clearance wanted, 0.5 mm
    parts/B2.toml:20: fit.gap.names: found 1, expected one for each of 2 stations
    parts/B2.toml:21: fit.gap: nothing says where to measure, expected count or at
    # twice
    parts/S3.toml:1: part: S2 is defined in parts/S2.toml too, expected one file a part
    "#);
}
