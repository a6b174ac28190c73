//! A temperature is typed over HTTP, and stands on the page, in the API and in the record.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod common;

use common::served::served;
use serde_json::{Value, json};

#[tokio::test]
async fn a_typed_temperature_is_on_the_page_in_the_api_and_in_the_record() {
    let served = served("pass").await;
    let page = served.get("/").await.body;
    assert!(page.contains("Temperature: not known"));
    let body = r#"{"temperature":"70 F","of":"piece"}"#;
    let answer = served.json("/api/temperatures", body).await;
    assert_eq!(answer.status, 200);
    let seq = served.newest.borrow().0;

    let state: Value = serde_json::from_str(&served.get("/api/bench").await.body).unwrap();
    let given = &state["temperatures"][0];
    assert_eq!(state["temperatures"].as_array().unwrap().len(), 1);
    assert_eq!(
        [&given["of"], &given["value"], &given["seq"]],
        [&json!("piece"), &json!("70 °F"), &json!(seq)]
    );
    // The test's spine has no clock but the dashboard has: given now, it holds.
    let page = served.get("/").await.body;
    assert!(page.contains("Temperature: piece 70 °F, gauge not known"));

    let record: Value = serde_json::from_str(&served.get("/api/record.json").await.body).unwrap();
    let told = &record["temperatures"][0];
    assert_eq!(told["entry"], seq);
    assert_eq!(told["value"], "70 °F");
    assert_eq!(told["sensor"], Value::Null);
}

#[tokio::test]
async fn a_temperature_that_is_none_is_a_problem_that_says_what_is_expected() {
    let served = served("pass").await;
    let before = *served.newest.borrow();
    for (body, expected) in [
        (r#"{"temperature":"21.5"}"#, "expected C or F"),
        (r#"{"temperature":"70 C"}"#, "expected -40 C to 60 C"),
        (r#"{"temperature":"warm C"}"#, "expected C or F"),
        (r#"{"temperature":"C"}"#, "not a number"),
        (r#"{}"#, "temperature is missing"),
        (
            r#"{"temperature":"20 C","of":"shop"}"#,
            "piece, gauge, both",
        ),
    ] {
        let answer = served.json("/api/temperatures", body).await;
        assert_eq!(answer.status, 422, "{body}");
        assert!(answer.body.contains(expected), "{body}: {}", answer.body);
    }
    let elsewhere = r#"{"temperature":"20 C","bench":"bench-9"}"#;
    assert_eq!(
        served.json("/api/temperatures", elsewhere).await.status,
        404
    );
    assert_eq!(*served.newest.borrow(), before, "nothing was written");
}
