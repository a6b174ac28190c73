//! Which piece into which mating piece, over HTTP.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod common;

use common::many::{WIDTH, adopt, judged, made_often, read};
use common::plan::plan;
use common::served::{Served, served, served_after};
use common::{bench, id, length, piece};
use serde_json::{Value, json};
use shared_types::*;

const OPENING: &str = "formed.opening.width";
const HEIGHT: &str = "formed.across.height";

/// The bulkhead made to the opening of S2, 287 mm wide, with half a millimetre on each side; its width is measured again
/// once it is trimmed. Its height follows nothing.
fn bulkhead(quantity: u32, source: FitSource) -> PartPlan {
    let mut plan = made_often(quantity, "286 mm", ["285 mm", "287 mm"]);
    plan.fit = Some(Fit {
        into: PartId::new("S2").unwrap(),
        clearance: length("0.5 mm"),
        source,
        first_article_mates: None,
    });
    let follows = (source == FitSource::Measured).then(|| Follows {
        characteristic: id(OPENING),
        planned: Quantity::parse("287 mm").unwrap(),
    });
    plan.characteristics[2].follows.clone_from(&follows);
    let trimmed = Characteristic {
        id: id("trimmed.across.width"),
        stage: Stage::Trimmed,
        // The flanges lean, so that they are nearer together once trimmed.
        nominal: Quantity::parse("285.8 mm").unwrap(),
        ..plan.characteristics[2].clone()
    };
    plan.characteristics.push(trimmed);
    plan
}

fn skin(quantity: u32) -> PartPlan {
    let mut skin = plan("Skin <b>with</b> its opening");
    skin.part = PartId::new("S2").unwrap();
    skin.quantity = quantity;
    skin.characteristics.truncate(3);
    let opening = &mut skin.characteristics[2];
    opening.id = id(OPENING);
    opening.name = "width of the <i>opening</i>".to_owned();
    opening.nominal = Quantity::parse("287 mm").unwrap();
    opening.limits = Limits::new(
        Some(Quantity::parse("286 mm").unwrap()),
        Some(Quantity::parse("288 mm").unwrap()),
    )
    .unwrap();
    skin
}

async fn json(served: &Served) -> Value {
    let answer = served.get("/api/pairing/B2").await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    serde_json::from_str(&answer.body).unwrap()
}

#[tokio::test]
async fn pieces_are_paired_so_that_the_worst_clearance_is_best() {
    let served = served_after(|spine| {
        adopt(spine, bulkhead(5, FitSource::Measured));
        adopt(spine, skin(3));
        for (on, width) in [
            ("B2/1", "286.0"),
            ("B2/2", "286.3"),
            ("B2/3", "285.8"),
            ("B2/5", "285.9"),
        ] {
            read(spine, WIDTH, on, width);
        }
        // A scrapped piece would fit well, and goes nowhere.
        let scrapped = Event::Disposed {
            bench: bench(),
            piece: piece("B2/5"),
            characteristic: None,
            reading: None,
            disposition: Disposition::Scrap,
            by: "MK".to_owned(),
            reason: "creased".to_owned(),
        };
        spine.write(scrapped, Finding::Noted);
        for (on, opening) in [("S2/1", "286.9"), ("S2/2", "287.4")] {
            read(spine, OPENING, on, opening);
        }
        let named = Event::Mated {
            bench: bench(),
            piece: piece("B2/3"),
            mate: piece("S2/2"),
        };
        spine.write(
            named,
            Finding::Fitted {
                nominals: Vec::new(),
            },
        );
    })
    .await;
    let all = json(&served).await;
    let group = &all["groups"][0];
    // Opening less piece, halved: the plan leaves 287 − 286 = 2 × 0.5 mm.
    assert_eq!(group["pieces"], json!(["B2/1", "B2/2", "B2/3"]));
    assert_eq!(group["mates"], json!(["S2/1", "S2/2"]));
    assert_eq!(
        group["clearances"],
        json!([
            ["0.45 mm", "0.7 mm"],
            ["0.3 mm", "0.55 mm"],
            ["0.55 mm", "0.8 mm"]
        ])
    );
    // With B2/3 in the small opening the worst is 0.55 whoever goes into the other; B2/1 has most room there.
    assert_eq!(group["worst"], "0.55 mm");
    let pairs: Vec<(&Value, &Value, &Value)> = group["pairs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|pair| (&pair["piece"], &pair["mate"], &pair["clearance"]))
        .collect();
    assert_eq!(
        pairs,
        [
            (&json!("B2/1"), &json!("S2/2"), &json!("0.7 mm")),
            (&json!("B2/2"), &Value::Null, &Value::Null),
            (&json!("B2/3"), &json!("S2/1"), &json!("0.55 mm")),
        ]
    );
    assert_eq!(
        group["not_measured"],
        json!([
            {"piece": "B2/4", "lacking": ["width at the root of the flanges"]},
            {"piece": "S2/3", "lacking": ["width of the <i>opening</i>"]},
        ])
    );
    let page = served.get("/pairing/B2").await;
    assert_eq!(page.status, 200);
    for said in [
        "<b>B2/1 in S2/2</b>: 0.70 mm on each side, least at the width at the root of the flanges",
        "<b>B2/2</b>: there is no S2 left for it",
        "(named for it is S2/2)",
        "not measured: width of the &lt;i&gt;opening&lt;/i&gt;",
        "● 0.55 mm",
        "Guidance, not acceptance",
    ] {
        assert!(page.body.contains(said), "{said}: {}", page.body);
    }
    let list = served.get("/trends").await.body;
    assert!(list.contains("href=\"/pairing/B2\""), "a way there");
}

#[tokio::test]
async fn a_trimmed_width_takes_the_place_of_the_formed_one_and_too_tight_is_said() {
    let served = served_after(|spine| {
        adopt(spine, bulkhead(2, FitSource::Measured));
        adopt(spine, skin(1));
        read(spine, WIDTH, "B2/1", "286.0");
        // Larger than its own nominal of 285.8 mm by 1.3 mm.
        judged(
            spine,
            "trimmed.across.width",
            "B2/1",
            "287.1",
            None,
            Vec::new(),
        );
        // Not measured where it must leave room, only elsewhere.
        read(spine, HEIGHT, "B2/2", "171.0");
        read(spine, OPENING, "S2/1", "287.0");
    })
    .await;
    let all = json(&served).await;
    assert_eq!(all["groups"][0]["clearances"], json!([["-0.15 mm"]]));
    assert_eq!(all["groups"][0]["not_measured"][0]["piece"], "B2/2");
    let page = served.get("/pairing/B2").await.body;
    assert!(page.contains("-0.15 mm on each side, too tight"), "{page}");
}

#[tokio::test]
async fn left_goes_into_left_where_both_parts_are_pairs() {
    let pair = |mut plan: PartPlan| {
        plan.mirrored = Some(Mirrored {
            words: plan
                .characteristics
                .iter()
                .map(|c| Words {
                    name: format!("{}, mirrored", c.name),
                    ..Words::default()
                })
                .collect(),
            views: plan.views.clone(),
        });
        plan
    };
    let served = served_after(move |spine| {
        adopt(spine, pair(bulkhead(1, FitSource::Measured)));
        adopt(spine, pair(skin(1)));
        for on in ["B2/1L", "B2/1R"] {
            read(spine, WIDTH, on, "286.0");
        }
        read(spine, OPENING, "S2/1L", "287.0");
    })
    .await;
    let all = json(&served).await;
    let [left, right] = [&all["groups"][0], &all["groups"][1]];
    assert_eq!(
        (&left["hand"], &left["pairs"][0]["mate"]),
        (&json!("left"), &json!("S2/1L"))
    );
    assert_eq!(right["pairs"], json!([]));
    assert_eq!(
        right["not_measured"],
        json!([{"piece": "S2/1R", "lacking": ["width of the <i>opening</i>, mirrored"]}])
    );
    let page = served.get("/pairing/B2").await.body;
    assert!(page.contains("No S2 is measured everywhere yet."), "{page}");
}

#[tokio::test]
async fn what_cannot_be_predicted_says_why() {
    let served_plan = served_after(|spine| {
        adopt(spine, bulkhead(2, FitSource::Plan));
        adopt(spine, skin(1));
    })
    .await;
    let page = served_plan.get("/pairing/B2").await;
    assert_eq!(page.status, 200);
    assert!(
        page.body
            .contains("Nothing of B2 follows a S2 as measured: its plan follows that of S2")
    );
    let no_fit = served("pass").await;
    for path in [
        "/pairing/B2",
        "/api/pairing/B2",
        "/api/pairing/none",
        "/pairing/%3Cb%3E",
    ] {
        assert_eq!(no_fit.get(path).await.status, 404, "{path}");
    }
    // The mating part is not in the build.
    let alone = served_after(|spine| {
        adopt(spine, bulkhead(2, FitSource::Measured));
        read(spine, WIDTH, "B2/1", "286.0");
    })
    .await;
    let page = alone.get("/pairing/B2").await.body;
    assert!(page.contains("No S2 is measured everywhere yet."), "{page}");
}
