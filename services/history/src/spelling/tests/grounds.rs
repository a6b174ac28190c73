//! The spelling of decision rules and of what verdicts rest on, pinned by lines of its own.

use std::sync::Arc;

use proptest::prelude::*;
use proptest::sample::select;
use shared_types::{
    Chance, Contribution, DerivedFinding, Event, Fact, Finding, Grounds, Lacking, Limits, MeanOf,
    Probability, Quantity, Rule, Seq, Settle, SpreadWord, Uncertainty, Unit, Verdict, Via,
};

use super::plans::{id, mm, saltmarsh_plan, trusted_setup};
use super::{decode, encode, observed};

/// As stored by format 1. The Saltmarsh build is invented.
const FIXTURE: &str = include_str!("../format-1-grounds.txt");

fn q(text: &str) -> Quantity {
    Quantity::Length(mm(text))
}

fn limits(lower: &str, upper: &str) -> Limits {
    Limits::new(Some(q(lower)), Some(q(upper))).unwrap()
}

fn guarded() -> Rule {
    Rule::Guarded(Probability::new(9750).unwrap())
}

fn uncertainty(averages: bool) -> Uncertainty {
    let part = |name: &str, u: &str, spread, averages| Contribution {
        name: name.into(),
        standard: q(u),
        spread,
        averages,
    };
    Uncertainty {
        standard: q("0.0124 mm"),
        freedom: averages.then_some(9),
        parts: [
            part(
                "limit of error",
                "0.0116 mm",
                SpreadWord::Rectangular,
                false,
            ),
            part("resolution", "0.0041 mm", SpreadWord::Triangular, false),
            part("repeatability", "0.002 mm", SpreadWord::Normal, averages),
            part("shop", "0.001 mm", SpreadWord::UShaped, false),
        ]
        .into(),
    }
}

fn judged(
    value: Quantity,
    verdict: Verdict,
    grounds: Grounds,
    derived: Vec<DerivedFinding>,
) -> Finding {
    Finding::Judged {
        piece: id("B2/3"),
        characteristic: id("formed.height.left"),
        revision: Seq(2),
        value,
        verdict,
        into: None,
        fitted: None,
        derived,
        grounds: Some(Arc::new(grounds)),
        correction: None,
    }
}

fn facts() -> Vec<Fact> {
    let reading = shared_types::Reading::new("12.70", Unit::Millimetre).unwrap();
    let value = reading.value;
    let read = || {
        observed(
            b"12.70",
            Via::Serial,
            shared_types::Decoded::Reading(reading.clone()),
        )
    };
    let mut setup = trusted_setup();
    setup.decision = guarded();
    let mut plan = saltmarsh_plan();
    plan.views.clear();
    plan.characteristics.truncate(1);
    plan.characteristics[0].decision = Some(Rule::Ratio(4));
    let undecided = Grounds {
        rule: guarded(),
        gauge: Some(id("caliper-1")),
        uncertainty: Some(uncertainty(true)),
        accept: Some(limits("12.2 mm", "12.69 mm")),
        reject: Some(limits("12.1 mm", "12.74 mm")),
        chance: Some(Chance::Outside(123_456_789)),
        settle: Some(Settle {
            repeats: Some(5),
            uncertainty: Some(q("0.008 mm")),
            to: Verdict::Pass,
        }),
        lacking: None,
        mean: None,
    };
    let mean = Grounds {
        mean: Some(MeanOf {
            value: q("12.695 mm"),
            of: vec![Seq(3), Seq(4)],
        }),
        settle: None,
        chance: Some(Chance::Within(5)),
        ..undecided.clone()
    };
    let lacking = |rule, lacking| Grounds {
        rule,
        lacking: Some(lacking),
        ..Grounds::default()
    };
    let derived = DerivedFinding {
        characteristic: id("formed.squareness"),
        value: q("0.3 mm"),
        verdict: Verdict::Undecided,
        from: vec![Seq(3), Seq(5)],
        grounds: Some(Arc::new(lacking(guarded(), Lacking::NoneCanPass))),
    };
    let adopted = Event::Adopted(Arc::new(plan));
    let opened = Event::Opened {
        version: "0.3.0".into(),
        setup,
    };
    let findings = [
        (opened, Finding::Noted),
        (adopted, Finding::Noted),
        (
            read(),
            judged(value, Verdict::Undecided, undecided, vec![derived]),
        ),
        (read(), judged(value, Verdict::Pass, mean, vec![])),
        (
            read(),
            judged(
                value,
                Verdict::Undecided,
                lacking(guarded(), Lacking::Uncertainty),
                vec![],
            ),
        ),
        (
            read(),
            judged(
                value,
                Verdict::Undecided,
                lacking(Rule::Ratio(4), Lacking::TooCoarse(27)),
                vec![],
            ),
        ),
        (
            read(),
            judged(
                value,
                Verdict::Undecided,
                lacking(Rule::Ratio(4), Lacking::OneLimit),
                vec![],
            ),
        ),
    ];
    (1_795_700_000_000_000_i64..)
        .step_by(1_000_000)
        .zip(findings)
        .map(|(at_us, (event, finding))| Fact {
            at_us,
            event,
            finding,
        })
        .collect()
}

#[test]
fn grounds_and_rules_are_spelt_as_in_the_fixture_and_read_from_it() {
    let bodies: Vec<&str> = FIXTURE.lines().collect();
    let facts = facts();
    let spelt: Vec<String> = facts.iter().map(|fact| encode(fact, None)).collect();
    assert_eq!(spelt, bodies, "written differently:\n{}", spelt.join("\n"));
    for (fact, body) in facts.iter().zip(bodies) {
        assert_eq!(&decode(body).unwrap(), fact);
    }
}

/// Grounds of the kind of `value`, or none.
pub(in crate::spelling) fn any_grounds(
    value: Quantity,
) -> impl Strategy<Value = Option<Arc<Grounds>>> {
    let length = matches!(value, Quantity::Length(_));
    let most: i64 = if length {
        1_000_000_000_000_000
    } else {
        12_960_000_000
    };
    let quantity = (-most..=most)
        .prop_map(move |raw| value.with_raw(raw).unwrap())
        .boxed();
    let rule = prop_oneof![
        Just(Rule::Plain),
        (5001_u16..10_000).prop_map(|p| Rule::Guarded(Probability::new(p).unwrap())),
        (1_u32..=1000).prop_map(Rule::Ratio),
    ];
    let spread = select(vec![
        SpreadWord::Normal,
        SpreadWord::Rectangular,
        SpreadWord::Triangular,
        SpreadWord::UShaped,
    ]);
    let part = (any::<String>(), quantity.clone(), spread, any::<bool>()).prop_map(
        |(name, standard, spread, averages)| Contribution {
            name,
            standard,
            spread,
            averages,
        },
    );
    let known = (
        quantity.clone(),
        prop::option::of(any::<u32>()),
        prop::collection::vec(part, 0..4),
    )
        .prop_map(|(standard, freedom, parts)| Uncertainty {
            standard,
            freedom,
            parts: parts.into(),
        });
    let limits = quantity
        .clone()
        .prop_map(|q| Limits::new(Some(q), None).unwrap());
    let chance = prop_oneof![
        any::<u64>().prop_map(Chance::Outside),
        any::<u64>().prop_map(Chance::Within),
    ];
    let verdict = select(vec![
        Verdict::Pass,
        Verdict::TooSmall,
        Verdict::TooLarge,
        Verdict::Undecided,
    ]);
    let settle = (
        prop::option::of(any::<u32>()),
        prop::option::of(quantity.clone()),
        verdict,
    )
        .prop_map(|(repeats, uncertainty, to)| Settle {
            repeats,
            uncertainty,
            to,
        });
    let lacking = prop_oneof![
        Just(Lacking::Uncertainty),
        Just(Lacking::NoneCanPass),
        Just(Lacking::OneLimit),
        any::<i64>().prop_map(Lacking::TooCoarse),
    ];
    let mean =
        (quantity, prop::collection::vec(any::<u64>(), 0..4)).prop_map(|(value, of)| MeanOf {
            value,
            of: of.into_iter().map(Seq).collect(),
        });
    let grounds = (
        rule,
        "[a-z0-9-]{1,8}",
        prop::option::of(known),
        prop::option::of(limits),
        prop::option::of(chance),
        prop::option::of(settle),
        prop::option::of(lacking),
        prop::option::of(mean),
    )
        .prop_map(
            |(rule, gauge, uncertainty, accept, chance, settle, lacking, mean)| {
                Arc::new(Grounds {
                    rule,
                    gauge: gauge.parse().ok(),
                    uncertainty,
                    accept,
                    reject: accept,
                    chance,
                    settle,
                    lacking,
                    mean,
                })
            },
        );
    prop::option::of(grounds)
}
