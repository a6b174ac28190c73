//! What the server refuses, what it survives, and how it stops.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod common;

use std::time::Duration;

use common::served::{PATIENCE, served, served_with, until};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::time::timeout;

#[tokio::test]
async fn refusals_are_problem_documents_and_write_nothing() {
    let served = served("empty").await;
    let before = *served.newest.borrow();
    let form = "application/x-www-form-urlencoded";
    let big = format!(r#"{{"gauge":"typed","text":"{}"}}"#, "1".repeat(70 * 1024));
    let long = format!(r#"{{"gauge":"typed","text":"{}"}}"#, "1".repeat(300));
    let json = "application/json";
    for (path, kind, body, status) in [
        ("/api/bench", json, r#"{"next":"formed.height.left"}"#, 409),
        (
            "/api/bench",
            json,
            r#"{"bench":"nowhere","operator":"x"}"#,
            404,
        ),
        (
            "/api/bench",
            json,
            r#"{"piece":"B2/9","stage":"formed"}"#,
            404,
        ),
        ("/api/bench", json, r#"{"piece":"B2/1"}"#, 422),
        (
            "/api/bench",
            json,
            r#"{"piece":"B2","stage":"formed"}"#,
            422,
        ),
        (
            "/api/bench",
            json,
            r#"{"piece":"B2/1","stage":"formed","next":"x"}"#,
            422,
        ),
        ("/api/bench", json, "{}", 422),
        ("/api/bench", json, "not json", 422),
        ("/api/bench", json, r#"{"unknown":"x","operator":"x"}"#, 422),
        ("/api/bench", form, "operator=a&unknown=b", 422),
        ("/api/bench", "text/plain", r#"{"operator":"x"}"#, 415),
        ("/api/bench", "", r#"{"operator":"x"}"#, 415),
        (
            "/api/readings",
            json,
            r#"{"gauge":"nobody","text":"1 mm"}"#,
            404,
        ),
        ("/api/readings", json, r#"{"gauge":"typed"}"#, 422),
        ("/api/readings", json, &long, 422),
        ("/api/readings", json, &big, 413),
        ("/api/held/one", json, r#"{"dismiss":""}"#, 404),
        (
            "/api/held/3",
            json,
            r#"{"characteristic":"a","dismiss":""}"#,
            422,
        ),
        (
            "/api/held/3",
            json,
            r#"{"characteristic":"a","unit":"furlong"}"#,
            422,
        ),
        ("/api/voids", json, r#"{"reading":3}"#, 422),
        ("/api/pieces", json, "{}", 405),
        ("/nowhere", json, "{}", 404),
    ] {
        let answer = served.post(path, kind, body, "").await;
        let shown = &body[..body.len().min(60)];
        assert_eq!(answer.status, status, "{path} {shown}: {}", answer.body);
        assert!(
            answer.has("content-type: application/problem+json"),
            "{path} {shown}: {}",
            answer.head
        );
        let problem: serde_json::Value = serde_json::from_str(&answer.body).unwrap();
        assert_eq!(problem["status"], status);
        assert!(!problem["detail"].as_str().unwrap().is_empty());
    }
    assert_eq!(*served.newest.borrow(), before, "nothing was written");
    let answer = served.json("/api/bench", r#"{"operator":"R. H."}"#).await;
    assert_eq!(
        answer.status, 200,
        "and the same server writes what is right: {}",
        answer.body
    );
    assert_eq!(served.newest.borrow().0, before.0 + 1);
}

#[tokio::test]
async fn pages_from_elsewhere_may_neither_read_nor_act() {
    let served = served("empty").await;
    let port = served.port;
    let before = *served.newest.borrow();
    for headers in [
        "Host: evil.example\r\n".to_owned(),
        format!("Host: localhost.evil.example:{port}\r\n"),
        format!("Host: localhost:{port}\r\nHost: evil.example\r\n"),
        format!("Host: localhost:{port}\r\nOrigin: http://evil.example\r\n"),
        format!("Host: localhost:{port}\r\nOrigin: null\r\n"),
        format!("Host: localhost:{port}\r\nOrigin: http://localhost:1\r\n"),
    ] {
        for path in [
            "/",
            "/api/bench",
            "/api/live",
            "/healthz",
            "/assets/bench.js",
            "/nowhere",
        ] {
            assert_eq!(
                served.get_with(path, &headers).await.status,
                403,
                "{path} {headers}"
            );
        }
    }
    let origin = "Origin: http://evil.example\r\n";
    let answer = served
        .post(
            "/api/bench",
            "application/x-www-form-urlencoded",
            "operator=x",
            origin,
        )
        .await;
    assert_eq!(answer.status, 403);
    assert_eq!(*served.newest.borrow(), before);
    let configured = served.get_with("/healthz", "Host: bench.example\r\n").await;
    assert_eq!(configured.status, 200, "a configured name may");
}

#[tokio::test]
async fn every_answer_carries_the_headers_that_keep_it_in_its_place() {
    let served = served("pass").await;
    for path in ["/", "/api/bench", "/nowhere", "/assets/bench.css"] {
        let answer = served.get(path).await;
        assert!(
            answer.has("content-security-policy: default-src 'self'"),
            "{path}"
        );
        assert!(answer.has("x-content-type-options: nosniff"), "{path}");
        assert!(answer.has("x-frame-options: DENY"), "{path}");
    }
    assert!(served.get("/").await.has("cache-control: no-store"));
    // With this policy an inline script or style would not run: the page must have none.
    let page = served.get("/").await.body;
    for inline in ["<style", " style=", "<script>", " onclick="] {
        assert!(!page.contains(inline), "{inline}");
    }
}

#[tokio::test]
async fn what_a_gauge_or_a_file_says_is_never_markup() {
    let served = served_with("garbled", "<script>alert(2)</script>\"'", 1, true).await;
    let kind = "application/json";
    let operator = r#"{"operator":"\" autofocus onfocus=alert(3) x=\"<b>"}"#;
    assert_eq!(
        served.post("/api/bench", kind, operator, "").await.status,
        200
    );
    let mut live = served.live().await;
    let stream = until(&mut live, "s-foot").await;
    for text in [served.get("/").await.body, stream] {
        assert!(
            text.contains("&lt;script&gt;alert(1)&lt;/script&gt;\\x07"),
            "the raw bytes are shown"
        );
        assert!(text.contains("&lt;script&gt;alert(2)"), "and the title");
        assert!(!text.contains("<script>alert"));
        assert!(!text.contains("\" autofocus"));
        assert!(!text.contains("<b>\""));
    }
    let csv = served.get("/api/record.csv").await.body;
    assert!(
        csv.contains("<script>alert(1)</script>\\x07"),
        "a record keeps it as it came"
    );
}

#[tokio::test]
async fn the_stop_ends_open_streams_stalled_clients_and_half_sent_requests() {
    let served = served("pass").await;
    let mut reading = served.live().await;
    until(&mut reading, "s-foot").await;
    // This one never reads; its stream stands full while the bench goes on.
    let stalled = served.live().await;
    let mut half = TcpStream::connect(("127.0.0.1", served.port))
        .await
        .unwrap();
    half.write_all(b"GET / HTTP/1.1\r\nHost: loc")
        .await
        .unwrap();
    for n in 0..40 {
        let body = format!(r#"{{"operator":"number {n}"}}"#);
        assert_eq!(served.json("/api/bench", &body).await.status, 200);
    }
    served.stop.cancel();
    let ended = timeout(PATIENCE, served.serving).await;
    ended
        .expect("it ends although clients hang on")
        .unwrap()
        .unwrap();
    drop((stalled, half));
}

#[tokio::test]
async fn streams_beyond_the_cap_are_refused_and_a_freed_seat_is_given_again() {
    let served = served("pass").await;
    let mut streams = Vec::new();
    for _ in 0..64 {
        let mut live = served.live().await;
        until(&mut live, "id: ").await;
        streams.push(live);
    }
    let refused = served.get("/api/live").await;
    assert_eq!(refused.status, 503);
    assert!(refused.has("retry-after:"), "{}", refused.head);
    streams.pop();
    timeout(PATIENCE, async {
        loop {
            let mut live = served.live().await;
            let mut start = [0; 12];
            live.read_exact(&mut start).await.unwrap();
            if &start == b"HTTP/1.1 200" {
                break;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    })
    .await
    .expect("the seat of the one that left is free again");
}

#[tokio::test]
async fn with_the_spine_gone_acts_are_refused_and_the_last_truth_stays_readable() {
    let served = served_with("fail", "Float bulkhead, bay 2", 1, false).await;
    let answer = served.json("/api/bench", r#"{"operator":"x"}"#).await;
    assert_eq!(answer.status, 503, "{}", answer.body);
    assert_eq!(served.get("/healthz").await.status, 503);
    let page = served.get("/").await;
    assert_eq!(page.status, 200);
    assert!(page.body.contains("14.02"));
}
