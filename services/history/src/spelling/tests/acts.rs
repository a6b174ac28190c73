//! What a person decides about fails and first articles, as stored by format 1 since it was added.

use std::sync::Arc;

use shared_types::{Disposition, Event, Fact, Finding, FirstArticle, Seq, Setup, Stage};

use super::plans::{id, paired_plan, trusted_setup};
use crate::spelling::{decode, encode};

/// One body for each. The Saltmarsh build is invented.
const FIXTURE: &str = include_str!("../format-1-acts.txt");

fn all() -> Vec<Event> {
    let disposed = |characteristic: Option<&str>, reading, disposition| Event::Disposed {
        bench: id("bench-1"),
        piece: id("B2/3L"),
        characteristic: characteristic.map(id),
        reading,
        disposition,
        by: "MK".into(),
        reason: "cracked at the \"left\" corner".into(),
    };
    let mut plan = paired_plan();
    // Drawn elsewhere in the fixtures: what is new here is the fit alone.
    (plan.characteristics, plan.views, plan.mirrored) = (Vec::new(), Vec::new(), None);
    if let Some(fit) = &mut plan.fit {
        fit.first_article_mates = Some(3);
    }
    vec![
        disposed(
            Some("formed.height.left"),
            Some(Seq(7)),
            Disposition::Rework,
        ),
        disposed(
            Some("formed.height.left"),
            Some(Seq(8)),
            Disposition::UseAsIs,
        ),
        disposed(None, None, Disposition::Scrap),
        Event::Laid {
            bench: id("bench-1"),
            piece: id("B2/4"),
            stage: Stage::Blank,
            reason: Some("the sheet is here for a day only".into()),
        },
        Event::Adopted(Arc::new(plan)),
        Event::Opened {
            version: "0.3.0".into(),
            setup: Setup {
                benches: Vec::new(),
                gauges: Vec::new(),
                first_article: FirstArticle {
                    required: false,
                    mates: 3,
                },
                ..trusted_setup()
            },
        },
    ]
}

#[test]
fn dispositions_and_first_articles_are_spelt_as_in_their_fixture_and_read_from_it() {
    let facts: Vec<Fact> = all()
        .into_iter()
        .map(|event| Fact {
            at_us: 1_795_600_000_000_000,
            event,
            finding: Finding::Noted,
        })
        .collect();
    let spelt: Vec<String> = facts.iter().map(|fact| encode(fact, None)).collect();
    let bodies: Vec<&str> = FIXTURE.lines().collect();
    assert_eq!(spelt, bodies, "written differently:\n{}", spelt.join("\n"));
    for (fact, body) in facts.iter().zip(bodies) {
        assert_eq!(&decode(body).unwrap(), fact);
    }
}
