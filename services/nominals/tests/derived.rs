//! Characteristics computed from readings: which, from what, and within what.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot be set up has failed"
)]

use nominals::{BuildRules, part};
use shared_types::{
    Characteristic, CharacteristicId, Derived, Mistake, PartPlan, Quantity, Tolerance,
};

const PART: &str = "part = 'B4'\ntitle = 'invented'\nquantity = 2\n[sheet]\nalloy = '5052-O'\nthickness = '0.8 mm'\n\
    [panel]\ngiven = 'outside'\nwidth = '200 mm'\nheight = '120 mm'\ndiagonals = true\n\
    [[panel.flange]]\nedges = ['left', 'bottom', 'right', 'top']\nformed = '14 mm'\nangle = '84 deg'\nradius = '3 mm'\n\
    [panel.relief]\ndiameter = '1/8 in'\n";

fn read(text: &str) -> Result<PartPlan, Vec<Mistake>> {
    let rules = BuildRules {
        general: "m".parse().unwrap(),
        allowance: "empirical".parse().unwrap(),
    };
    part("part.toml", text, &rules)
}

fn plan(text: &str) -> PartPlan {
    read(text).unwrap_or_else(|mistakes| panic!("{mistakes:?}\n{text}"))
}

fn told(text: &str) -> String {
    let lines: Vec<String> = read(text)
        .unwrap_err()
        .iter()
        .map(ToString::to_string)
        .collect();
    lines.join("\n")
}

fn id(text: &str) -> CharacteristicId {
    CharacteristicId::new(text).unwrap()
}

fn find<'p>(plan: &'p PartPlan, text: &str) -> &'p Characteristic {
    plan.characteristic(&id(text))
        .unwrap_or_else(|| panic!("{text} is missing"))
}

fn limits(c: &Characteristic) -> [Option<String>; 2] {
    [c.limits.lower(), c.limits.upper()].map(|limit| limit.map(|q| q.to_string()))
}

#[test]
fn diagonals_may_differ_by_what_a_corner_out_of_square_by_its_general_tolerance_makes() {
    let plan = plan(PART);
    let c = find(&plan, "formed.diagonal.difference");
    assert_eq!(
        c.derived,
        Some(Derived::Difference {
            of: [id("formed.diagonal.rising"), id("formed.diagonal.falling")],
            absolute: true
        })
    );
    assert_eq!(c.nominal, Quantity::parse("0 mm").unwrap());
    // By hand, another way: the corners of the sheared rectangle placed and their distances taken. Setback
    // tan(42°) (3 + 0.8) mm; ISO 2768-1 m, a shorter leg above 50 up to 120 mm: 20′.
    let setback = 42.0_f64.to_radians().tan() * 3.8;
    let (w, h, askew) = (
        200.0 - 2.0 * setback,
        120.0 - 2.0 * setback,
        (20.0_f64 / 60.0).to_radians(),
    );
    let (x, y) = (h * askew.sin(), h * askew.cos());
    let difference = (w + x).hypot(y) - (w - x).hypot(y);
    let upper = c.limits.upper().unwrap().raw() as f64 / 1e9;
    assert!((upper - difference).abs() < 2e-4, "{upper} {difference}");
    assert_eq!(c.limits.lower(), None);
    assert_eq!(
        c.tolerance,
        Tolerance::General("ISO 2768-1 m, by the angle of a corner".to_owned())
    );
    // Last of its stage, after everything that is measured.
    let formed: Vec<u16> = plan.at(c.stage).map(|c| c.number).collect();
    assert_eq!(formed.last(), Some(&c.number));
    assert!(formed.windows(2).all(|pair| pair[1] == pair[0] + 1));

    let stated = format!(
        "{PART}[[tolerance]]\nof = 'formed.diagonal.difference'\nplus = '0.5 mm'\nminus = '0 mm'\n"
    );
    let plan = self::plan(&stated);
    let c = find(&plan, "formed.diagonal.difference");
    assert_eq!(
        limits(c),
        [Some("0 mm".to_owned()), Some("0.5 mm".to_owned())]
    );
    assert_eq!(c.tolerance, Tolerance::Stated);
}

#[test]
fn a_difference_a_taper_and_a_mean_are_computed_from_what_is_measured() {
    let text = format!(
        "{PART}[[derived]]\nid = 'lean'\nname = 'lean of both sides'\ndifference = ['formed.across.width.root', \
         'formed.across.width.free']\nupper = '4 mm'\n\
         [[derived]]\nid = 'taper'\nname = 'taper'\ntaper = ['formed.across.width.root', 'formed.across.width.free']\n\
         plus = '0.4 mm'\nminus = '0.3 mm'\n\
         [[derived]]\nid = 'mean'\nname = 'mean angle'\nmean = 'formed.angle.left'\nreadings = 3\n"
    );
    let plan = plan(&text);
    // 2 (SB − h) cos A leaned out at 84°: the free edge stands 2 · 10.578 mm · cos 84° = 2.2115 mm wider.
    let [lean, taper] = ["formed.lean", "formed.taper"].map(|text| find(&plan, text));
    let [root, free] = ["formed.across.width.root", "formed.across.width.free"]
        .map(|text| find(&plan, text).nominal.raw());
    assert!(free > root);
    assert_eq!(lean.nominal.raw(), free - root);
    assert_eq!(taper.nominal.raw(), root - free);
    assert_eq!(
        taper.limits.upper().unwrap().raw(),
        root - free + 400_000_000
    );
    assert_eq!(
        taper.limits.lower().unwrap().raw(),
        root - free - 300_000_000
    );
    let of = [
        id("formed.across.width.root"),
        id("formed.across.width.free"),
    ];
    assert_eq!(
        [&lean.derived, &taper.derived],
        [true, false]
            .map(|absolute| Some(Derived::Difference {
                of: of.clone(),
                absolute
            }))
            .each_ref()
    );
    let (mean, one) = (find(&plan, "formed.mean"), find(&plan, "formed.angle.left"));
    assert_eq!(
        mean.derived,
        Some(Derived::Mean {
            of: one.id.clone(),
            readings: 3
        })
    );
    assert_eq!(
        (mean.nominal, mean.limits, &mean.tolerance),
        (one.nominal, one.limits, &one.tolerance)
    );
}

#[test]
fn what_cannot_be_computed_is_told_at_its_line() {
    let text = format!(
        "{PART}[[derived]]\nid = 'a'\nname = 'a'\ndifference = ['formed.across.width.rot', 'formed.angle.left']\nupper = '4 mm'\n\
         [[derived]]\nid = 'b'\nname = 'b'\ndifference = ['formed.angle.left',\n'formed.height.left']\nupper = '4 mm'\n\
         [[derived]]\nid = 'c'\nname = 'c'\ntaper = ['formed.across.width.root',\n'blank.width']\nupper = '4 mm'\n\
         [[derived]]\nid = 'd'\nname = 'd'\ndifference = ['formed.height.left', 'formed.height.right']\n\
         [[derived]]\nid = 'e'\nname = 'e'\nmean = 'formed.height.left'\nreadings = 26\n\
         [[derived]]\nid = 'f'\nname = 'f'\nmean = 'formed.diagonal.difference'\nreadings = 2\n\
         [[derived]]\nid = 'g'\nname = 'g'\n\
         [[derived]]\nid = 'formed.h'\nname = 'h'\nmean = 'formed.height.left'\nreadings = 2\n\
         [[derived]]\nid = 'height.left'\nname = 'i'\nmean = 'formed.height.left'\nreadings = 2\n\
         [[derived]]\nid = 'j'\nname = 'j'\nmean = 'formed.height.left'\ntaper = []\nreadings = 2\n\
         [[derived]]\nid = 'k'\nname = 'k'\ndifference = ['formed.height.left']\nreadings = 2\n\
         [[derived]]\nid = 'l'\nname = 'l'\ndifference = ['formed.height.left', 'formed.height.right']\nlower = '1 mm'\n"
    );
    insta::assert_snapshot!(told(&text), @r#"
    part.toml:22: derived.difference: found "formed.across.width.rot", expected the id of something measured of this part; did you mean "formed.across.width.root"?
    part.toml:28: derived.difference: found formed.angle.left and formed.height.left, a length and an angle, expected both of one kind
    part.toml:34: derived.taper: found formed.across.width.root and blank.width, measured at two stages, expected both of one: a piece changes between stages
    part.toml:36: derived: found no limits, expected lower, upper, or plus and minus: a difference has no general tolerance
    part.toml:44: derived.readings: found the number 26, expected a whole number from 2 to 25
    part.toml:48: derived.mean: found "formed.diagonal.difference", which is derived itself, expected something that is measured
    part.toml:50: derived: nothing says what it is computed from, expected one of difference, taper and mean
    part.toml:54: derived.id: found "formed.h", expected it without a stage: "formed." is put before it
    part.toml:66: derived.mean: found it beside taper, expected one of difference, taper and mean
    part.toml:73: derived.readings: found it beside difference, expected it only with mean
    part.toml:78: derived.lower: the nominal 0 mm lies outside its limits, expected it within them
    "#);
    let twice = format!(
        "{PART}[[derived]]\nid = 'height.left'\nname = 'i'\nmean = 'formed.height.left'\nreadings = 2\n\
         [[derived]]\nid = 'diagonal.difference'\nname = 'j'\nmean = 'formed.height.left'\nreadings = 2\n\
         [[derived]]\nid = 'k'\nname = 'k'\nmean = 'formed.height.left'\nreadings = 2\n\
         [[derived]]\nid = 'k'\nname = 'l'\nmean = 'formed.height.left'\nreadings = 3\n"
    );
    insta::assert_snapshot!(told(&twice), @r"
    part.toml:19: formed.height.left: found a second time, expected each id once
    part.toml:24: formed.diagonal.difference: found a second time, expected each id once
    part.toml:34: formed.k: found a second time, expected each id once
    ");
}
