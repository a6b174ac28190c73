//! Run rules on made-up charts.

use trends::charts::Chart;
use trends::{RuleSet, offences};

/// Which rules of a set a chart of centre 0 and σ 1 breaks, and where: `rule@point`.
fn broken(set: RuleSet, points: &[f64]) -> String {
    let chart = Chart {
        centre: 0.0,
        sigma: 1.0,
        lower: -3.0,
        upper: 3.0,
        points: points.to_vec(),
    };
    let seen = offences(set, &chart);
    let words: Vec<_> = seen
        .iter()
        .map(|o| format!("{}@{}", o.rule.number, o.at))
        .collect();
    words.join(" ")
}

#[test]
fn each_rule_is_seen_at_the_point_that_completes_it_and_not_one_point_earlier() {
    use RuleSet::{Iso7870, Nelson, WesternElectric};
    let turns: Vec<f64> = (0..14)
        .map(|at| if at % 2 == 0 { 0.3 } else { -0.3 })
        .collect();
    let eight: Vec<f64> = (0..8)
        .map(|at| if at % 2 == 0 { 1.5 } else { -1.5 })
        .collect();
    let fifteen = [
        0.5, -0.5, -0.6, 0.4, 0.3, -0.1, -0.2, 0.9, 0.8, -0.9, -0.4, 0.1, 0.2, -0.3, -0.5,
    ];
    let rising = [-0.9, -0.5, 0.1, 0.2, 0.8, 0.9, 1.1];
    // Each pattern with how many of its points complete it, the set, and the rule it breaks.
    let cases: [(&[f64], RuleSet, &str); 14] = [
        (&[3.1], WesternElectric, "1@0"),
        (&[2.1, 0.0, 2.2], WesternElectric, "2@2"),
        (&[-1.1, -1.2, 0.5, -1.3, -1.4], WesternElectric, "3@4"),
        (
            &[0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1, 0.2],
            WesternElectric,
            "4@7",
        ),
        (&[-3.1], Nelson, "1@0"),
        (
            &[-0.1, -0.2, -0.1, -0.2, -0.1, -0.2, -0.1, -0.2, -0.1],
            Nelson,
            "2@8",
        ),
        (&rising[..6], Nelson, "3@5"),
        (&turns, Nelson, "4@13"),
        (&[-2.1, -2.5], Nelson, ""),
        (&[0.0, -2.1, -2.5], Nelson, "5@2"),
        (&[1.1, 1.2, 1.3, 0.5, 1.4], Nelson, "6@4"),
        (&fifteen, Nelson, "7@14"),
        (&rising, Iso7870, "3@6"),
        (&[0.1, 0.2, 0.1, 0.2, 0.1, 0.2, 0.1], Iso7870, "2@6"),
    ];
    for (points, set, expected) in cases {
        assert_eq!(broken(set, points), expected, "{} {points:?}", set.name());
        assert_eq!(
            broken(set, &points[..points.len() - 1]),
            "",
            "{} {points:?}",
            set.name()
        );
    }
    assert_eq!(broken(Nelson, &eight), "8@7");
}

#[test]
fn two_of_three_must_lie_on_one_side_and_the_newest_must_be_one_of_them() {
    let set = RuleSet::WesternElectric;
    assert_eq!(broken(set, &[2.1, -2.1, 0.0]), "");
    // Two in the first three points complete no window of three before the third, and that one is not out.
    assert_eq!(broken(set, &[2.1, 2.1, 0.0]), "");
    assert_eq!(broken(set, &[0.0, 2.1, 2.1, 0.0]), "2@2");
    let chart = Chart {
        centre: 0.0,
        sigma: 1.0,
        lower: -3.0,
        upper: 3.0,
        points: vec![0.0, 2.1, -1.0, 2.4],
    };
    let seen = offences(set, &chart);
    assert_eq!(seen.len(), 1);
    assert_eq!(seen[0].points, [1, 3]);
    assert_eq!(
        seen[0].rule.text,
        "two of three points beyond 2σ on one side"
    );
}

#[test]
fn a_point_on_the_centre_line_and_two_alike_break_a_run() {
    assert_eq!(
        broken(RuleSet::Iso7870, &[0.1, 0.2, 0.1, 0.0, 0.1, 0.2, 0.1, 0.2]),
        ""
    );
    assert_eq!(
        broken(RuleSet::Nelson, &[-0.9, -0.5, 0.1, 0.1, 0.8, 0.9]),
        ""
    );
}
