//! A gauge is checked over HTTP, and what a failed check puts in doubt is on the page, in the API and in the record.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod common;

use common::served::served;

async fn caliper(served: &common::served::Served) -> serde_json::Value {
    let state: serde_json::Value =
        serde_json::from_str(&served.get("/api/bench").await.body).unwrap();
    state["gauges"][0].clone()
}

#[tokio::test]
async fn a_gauge_that_fails_its_check_puts_its_readings_in_doubt_on_the_page_and_in_the_record() {
    let served = served("pass").await;
    assert_eq!(caliper(&served).await["check_due"], "never-checked");
    let page = served.get("/").await.body;
    assert!(page.contains("has never been checked"), "overdue");
    assert!(!page.contains("in doubt"), "nothing is in doubt yet");

    let begin = r#"{"gauge":"caliper-1","against":"gauge block 25"}"#;
    assert_eq!(served.json("/api/checks", begin).await.status, 200);
    assert_eq!(caliper(&served).await["checking"], "gauge block 25");
    let page = served.get("/").await.body;
    assert!(page.contains("Checking caliper 1"), "who waits for what");

    let typed = r#"{"gauge":"caliper-1","text":"25.06 mm"}"#;
    assert_eq!(served.json("/api/readings", typed).await.status, 200);
    let failed = served.newest.borrow().0;
    let state = caliper(&served).await;
    assert_eq!(state["checking"], serde_json::Value::Null);
    assert_eq!(state["failing"]["verdict"], "too-large");
    let suspects = state["suspects"].as_array().unwrap();
    let page = served.get("/").await.body;
    assert!(page.contains("Do not trust caliper 1"));
    assert!(page.contains("off by 0.06 mm, may be 0.02 mm"), "{page}");
    assert!(page.contains(&format!(
        "{} readings of caliper 1 in doubt",
        suspects.len()
    )));
    assert!(suspects.iter().all(|suspect| suspect["piece"] == "B2/3"));

    let record: serde_json::Value =
        serde_json::from_str(&served.get("/api/record.json").await.body).unwrap();
    let recorded = record["suspects"].as_array().unwrap();
    let entries = |list: &[serde_json::Value], key: &str| -> Vec<u64> {
        list.iter().map(|one| one[key].as_u64().unwrap()).collect()
    };
    assert_eq!(entries(recorded, "entry"), entries(suspects, "seq"));
    assert!(recorded.iter().all(|one| one["by"] == failed));
    assert_eq!(record["checks"][0]["value"], "25.06 mm");
    let csv = served.get("/api/record.csv").await.body;
    let doubted = format!("by the failed check of its gauge, entry {failed}");
    assert_eq!(csv.matches(&doubted).count(), suspects.len());

    // A person voids one of them; then says that it was no proper check.
    let first = entries(suspects, "seq")[0];
    let void = |entry| format!(r#"{{"reading":{entry},"reason":"the gauge failed its check"}}"#);
    assert_eq!(served.json("/api/voids", &void(first)).await.status, 200);
    let left = caliper(&served).await["suspects"].as_array().unwrap().len();
    assert_eq!(left, suspects.len() - 1);
    assert_eq!(served.json("/api/voids", &void(failed)).await.status, 200);
    let state = caliper(&served).await;
    assert_eq!(state["failing"], serde_json::Value::Null);
    assert_eq!(state["suspects"].as_array().unwrap().len(), 0);
}

#[tokio::test]
async fn a_check_is_left_from_a_form_and_one_that_cannot_be_is_refused() {
    let served = served("pass").await;
    let form = "application/x-www-form-urlencoded";
    let post = |body: &'static str| served.post("/api/checks", form, body, "");
    assert_eq!(post("gauge=caliper-1&against=zero").await.status, 303);
    assert_eq!(caliper(&served).await["checking"], "zero");
    assert_eq!(post("gauge=caliper-1&leave=yes").await.status, 303);
    assert_eq!(caliper(&served).await["checking"], serde_json::Value::Null);
    let answer = served.json("/api/checks", r#"{"gauge":"caliper-1"}"#).await;
    assert_eq!(answer.status, 422, "{}", answer.body);
    let nobody = r#"{"gauge":"nobody","against":"zero"}"#;
    assert_eq!(served.json("/api/checks", nobody).await.status, 404);
}
