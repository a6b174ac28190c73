//! Asking a gauge over HTTP: the question goes to who listens to the gauge, and nothing is written before
//! the gauge has answered.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod common;

use common::gauge;
use common::served::{Served, served_asking};
use dashboard::Asking;
use serde_json::{Value, json};
use shared_types::GaugeId;
use tokio::sync::mpsc;

/// A server where caliper-1 can be asked, and what its port hears. Like a port it takes one question at a
/// time.
async fn shop() -> (Served, mpsc::Receiver<GaugeId>) {
    let (ask, asked) = mpsc::channel(1);
    let asking = Asking::new([gauge("caliper-1")], move |gauge| {
        if gauge.as_str() != "caliper-1" {
            return Err(format!("gauge {gauge} sends by itself"));
        }
        ask.try_send(gauge.clone())
            .map_err(|_| format!("gauge {gauge} has not answered yet"))
    });
    let served = served_asking("pass", "Float bulkhead, bay 2", 1, true, asking).await;
    (served, asked)
}

#[tokio::test]
async fn a_question_reaches_the_gauges_port_and_writes_nothing() {
    let (served, mut asked) = shop().await;
    let before = *served.newest.borrow();
    let answer = served.json("/api/asks", r#"{"gauge": "caliper-1"}"#).await;
    assert_eq!(answer.status, 202, "{}", answer.body);
    let said: Value = serde_json::from_str(&answer.body).unwrap();
    assert_eq!(said, json!({"asked": "caliper-1"}));
    assert_eq!(asked.try_recv(), Ok(gauge("caliper-1")));

    // From the page without any script: the button is there for this gauge alone, and leads back to it.
    let page = served.get("/bench/bench-1").await.body;
    let form = r#"action="/api/asks"><input type="hidden" name="gauge" value="caliper-1">"#;
    assert!(page.contains(form), "{page}");
    assert_eq!(page.matches("/api/asks").count(), 1);
    let kind = "application/x-www-form-urlencoded";
    let answer = served.post("/api/asks", kind, "gauge=caliper-1", "").await;
    assert_eq!(answer.status, 303, "{}", answer.body);
    assert!(answer.has("location: /bench/bench-1"), "{}", answer.head);
    assert_eq!(asked.try_recv(), Ok(gauge("caliper-1")));

    // The twin: what a person types is written, and would be seen.
    assert_eq!(*served.newest.borrow(), before);
    let typed = r#"{"gauge":"typed","text":"14.02 mm"}"#;
    assert_eq!(served.json("/api/readings", typed).await.status, 200);
    assert_eq!(served.newest.borrow().0, before.0 + 1);
}

#[tokio::test]
async fn a_question_that_cannot_be_put_is_refused_with_the_reason_and_writes_nothing() {
    let (served, mut asked) = shop().await;
    let before = *served.newest.borrow();
    let first = served.json("/api/asks", r#"{"gauge": "caliper-1"}"#).await;
    assert_eq!(first.status, 202, "{}", first.body);
    for (body, status, detail) in [
        // Nobody has taken the first question yet.
        (
            r#"{"gauge": "caliper-1"}"#,
            422,
            "gauge caliper-1 has not answered yet",
        ),
        (
            r#"{"gauge": "angle-1"}"#,
            422,
            "gauge angle-1 sends by itself",
        ),
        (
            r#"{"gauge": "caliper-9"}"#,
            404,
            "there is no gauge \"caliper-9\" in this configuration",
        ),
        (r#"{"gauge": "no such name!"}"#, 404, "there is no gauge"),
        ("{}", 422, "gauge is missing"),
        (
            r#"{"gauge": "caliper-1", "text": "12.7"}"#,
            422,
            "unknown field",
        ),
    ] {
        let answer = served.json("/api/asks", body).await;
        assert_eq!(answer.status, status, "{body}: {}", answer.body);
        assert!(answer.has("content-type: application/problem+json"));
        let problem: Value = serde_json::from_str(&answer.body).unwrap();
        let said = problem["detail"].as_str().unwrap();
        assert!(said.contains(detail), "{body}: {said}");
    }
    assert_eq!(asked.try_recv(), Ok(gauge("caliper-1")));
    assert!(asked.try_recv().is_err(), "one question was put");
    assert_eq!(*served.newest.borrow(), before);
}
