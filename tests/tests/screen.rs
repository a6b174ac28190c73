//! The bench screen in a real browser, over the real daemon and a gauge at a pseudo-terminal.
#![allow(missing_docs, clippy::unwrap_used)]

mod browser;

use std::path::Path;

use browser::Browser;
use fantoccini::key::Key;
use history::Reader;
use oddleg_tests::daemon::Daemon;
use oddleg_tests::person::Person;
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{Plugged, program, wait};
use serde_json::json;

/// Number of the entry that the page shows, as it says itself.
const SHOWS: &str = "Number(document.getElementById('bench').dataset.seq)";

struct Bench {
    workshop: Workshop,
    daemon: Daemon,
    caliper: Plugged,
}

impl Bench {
    /// Bulkhead B2/1 lies there, its flanges worked up: 12.7 ± 0.79375 mm is due, the left flange first.
    fn with_a_formed_piece() -> Self {
        let workshop = Workshop::new("");
        let daemon = Daemon::start(&program::oddleg(), workshop.path());
        let caliper = daemon.plug("caliper-1", &workshop.port("caliper-1"));
        lay(&daemon.person);
        Self {
            workshop,
            daemon,
            caliper,
        }
    }

    fn says(&mut self, line: &str) -> u64 {
        self.daemon
            .hears(&mut self.caliper, format!("{line}\r").as_bytes())
    }

    fn url(&self) -> String {
        format!("{}/", self.daemon.person.base)
    }
}

fn lay(person: &Person) {
    person.works_at("bench-1");
    person.post(
        "/api/bench",
        &json!({"bench": "bench-1", "piece": "B2/1", "stage": "formed"}),
    );
}

/// Waits until the page shows entry `seq`, and holds every state it passes through against what is on disk.
fn shows(browser: &Browser, dir: &Path, seq: u64) {
    let history = Reader::open(dir).unwrap();
    wait::until("the page to show the newest entry", || {
        let shown = browser.ask(SHOWS).as_u64().unwrap();
        let newest = history.newest().unwrap().0;
        assert!(
            shown <= newest,
            "entry {shown} is shown, {newest} is the newest on disk"
        );
        (shown >= seq).then_some(())
    });
}

#[test]
fn a_line_from_the_caliper_appears_as_a_verdict_without_a_reload() {
    let mut bench = Bench::with_a_formed_piece();
    let browser = Browser::wide();
    browser.open(&bench.url());
    browser.ask("(window.notReloaded = true)");
    assert!(browser.text("#s-now").contains("height of the left flange"));
    for (line, number, word, advice) in [
        ("+14.31 mm", "14.31", "too large", "0.816 mm over its limit"),
        (
            "+11.00 mm",
            "11.00",
            "too small",
            "0.906 mm under its limit",
        ),
        ("+12.90 mm", "12.90", "pass", ""),
    ] {
        let seq = bench.says(line);
        shows(&browser, bench.workshop.path(), seq);
        assert_eq!(browser.text("#s-last .digits"), number);
        assert_eq!(browser.text("#s-last .verdict").to_lowercase(), word);
        let said = browser.text("#s-last");
        assert!(said.contains(advice), "{said}");
    }
    // The route went on to the next one.
    assert!(browser.text("#s-now").contains("left flange and the web"));
    assert_eq!(browser.ask("window.notReloaded"), true);
}

#[test]
fn a_held_reading_is_assigned_with_one_tap() {
    let mut bench = Bench::with_a_formed_piece();
    let browser = Browser::phone(360);
    browser.open(&bench.url());
    // The unit button was bumped: it shows inches and says millimetres.
    let seq = bench.says("+0.512 mm");
    shows(&browser, bench.workshop.path(), seq);
    assert_eq!(browser.text("#s-last .verdict").to_lowercase(), "held");
    browser.press(&format!("#last-{seq}-0"));
    shows(&browser, bench.workshop.path(), seq + 1);
    assert_eq!(browser.text("#s-last .verdict").to_lowercase(), "pass");
    let entry = bench.daemon.person.entry(seq + 1);
    assert_eq!(entry["event"]["assigned"]["reading"], seq);
    // 0.512 in is 13.0048 mm, to the picometre.
    assert_eq!(
        entry["finding"]["judged"]["value"],
        json!({"pm": 13_004_800_000_i64})
    );
}

#[test]
fn a_browser_that_was_away_says_so_and_shows_exactly_the_truth_when_it_is_back() {
    let mut bench = Bench::with_a_formed_piece();
    let browser = Browser::wide();
    browser.open(&bench.url());
    browser.ask("(window.notReloaded = true)");
    let seq = bench.says("+14.31 mm");
    shows(&browser, bench.workshop.path(), seq);
    assert_eq!(browser.ask("document.getElementById('lost').hidden"), true);

    let url = bench.url();
    let Bench {
        workshop,
        daemon,
        caliper,
    } = bench;
    drop(caliper);
    assert_eq!(daemon.stop(), Some(0));
    browser.until("!document.getElementById('lost').hidden");
    assert!(
        browser
            .text("#lost")
            .starts_with("Not connected: what you see is as of ")
    );

    // Elsewhere the daemon runs on: what it hears then, this browser misses.
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let mut caliper = daemon.plug("caliper-1", &workshop.port("caliper-1"));
    daemon.hears(&mut caliper, b"+12.90 mm\r");
    daemon.hears(&mut caliper, b"+0.512 mm\r");
    drop(caliper);
    assert_eq!(daemon.stop(), Some(0));

    let address = url.trim_start_matches("http://").trim_end_matches('/');
    let daemon = Daemon::start_at(&program::oddleg(), workshop.path(), address);
    browser.until("document.getElementById('lost').hidden");
    wait::until("the page to catch up", || {
        (browser.ask(SHOWS) == daemon.person.newest()).then_some(())
    });
    let live = browser.ask("document.getElementById('bench').innerText");
    assert_eq!(browser.ask("window.notReloaded"), true);
    // The truth is what a page loaded now says.
    browser.open(&url);
    browser.until("document.getElementById('lost').hidden");
    assert_eq!(
        live,
        browser.ask("document.getElementById('bench').innerText")
    );
    assert_eq!(browser.text("#s-last .verdict").to_lowercase(), "held");
}

#[test]
fn what_an_instrument_says_is_shown_as_text_and_never_becomes_part_of_the_page() {
    let mut bench = Bench::with_a_formed_piece();
    let browser = Browser::wide();
    browser.open(&bench.url());
    let elements = browser.ask("document.querySelectorAll('img, script').length");
    let hostile = "<img src=x onerror=\"document.title='owned'\"></section><script>document.title='owned'</script>";
    let seq = bench.says(hostile);
    shows(&browser, bench.workshop.path(), seq);
    assert!(browser.text("#s-last").contains(hostile));
    // A person's text goes the same way.
    bench.daemon.person.post(
        "/api/bench",
        &json!({"bench": "bench-1", "operator": "<img src=x>"}),
    );
    shows(&browser, bench.workshop.path(), seq + 1);
    assert!(browser.text("#s-top").contains("<img src=x>"));
    assert_eq!(
        browser.ask("document.querySelectorAll('img, script').length"),
        elements
    );
    assert_ne!(browser.ask("document.title"), "owned");
}

#[test]
fn the_keyboard_alone_picks_what_to_measure_and_types_a_reading() {
    let bench = Bench::with_a_formed_piece();
    let person = &bench.daemon.person;
    let browser = Browser::wide();
    browser.open(&bench.url());
    tab_to(&browser, "step-3");
    browser.key(Key::Enter);
    wait::until("the pick", || {
        let due = &person.get("/api/bench")["due"];
        (due["number"] == 3 && due["why"] == "picked").then_some(())
    });
    shows(&browser, bench.workshop.path(), person.newest());
    // The focus is still where it was, though the page has been renewed under it.
    assert_eq!(browser.ask("document.activeElement.id"), "step-3");
    tab_to(&browser, "type-keypad-1");
    browser.write("1/2 in");
    browser.key(Key::Enter);
    wait::until("the typed reading", || {
        (person.get("/api/bench")["last"]["value"] == "12.7 mm").then_some(())
    });
    shows(&browser, bench.workshop.path(), person.newest());
    assert_eq!(browser.text("#s-last .verdict").to_lowercase(), "pass");
}

/// Tabs to the element `id`, and sees that it shows that it has the focus.
fn tab_to(browser: &Browser, id: &str) {
    for _ in 0..60 {
        browser.key(Key::Tab);
        if browser.ask("document.activeElement.id") == id {
            let outline = browser.ask("getComputedStyle(document.activeElement).outlineStyle");
            assert_ne!(outline, "none", "{id} does not show its focus");
            return;
        }
    }
    panic!("{id} is not reached by Tab");
}

/// By how many pixels the page is wider than the window, and what of it stands out; nothing where it fits.
const OVER: &str = "(over => over > 0 ? [over, ...[...document.querySelectorAll('main *')] \
     .filter(e => e.getBoundingClientRect().right > innerWidth + 1).map(e => `${e.tagName} ${e.id} ${e.className}`)] : []) \
     (document.documentElement.scrollWidth - document.documentElement.clientWidth)";

#[test]
fn nothing_runs_over_the_edge_of_a_phone_360_wide() {
    let mut bench = Bench::with_a_formed_piece();
    let browser = Browser::phone(360);
    browser.open(&bench.url());
    assert_eq!(browser.ask("document.documentElement.clientWidth"), 360);
    // Longest value, verdict and advice; a held reading with its choices; the longest line that is kept.
    for (line, word) in [
        ("+14.31 mm".to_owned(), "too large"),
        ("-171.123456 mm".to_owned(), "held"),
        ("x".repeat(250), "garbled"),
        ("+0.512 mm".to_owned(), "held"),
    ] {
        let seq = bench.says(&line);
        shows(&browser, bench.workshop.path(), seq);
        assert_eq!(browser.text("#s-last .verdict").to_lowercase(), word);
        for open in [false, true] {
            browser.ask(&format!(
                "document.querySelectorAll('details').forEach(d => d.open = {open})"
            ));
            assert_eq!(
                browser.ask(OVER),
                json!([]),
                "{word}, choices open: {open}: these are too wide"
            );
        }
    }
}

#[test]
fn the_chart_of_a_dimension_is_reached_and_read_on_a_phone_and_asked_anew_by_the_keyboard_alone() {
    let workshop = Workshop::new("");
    let part = workshop.path().join("parts/B2.toml");
    let text = std::fs::read_to_string(&part).unwrap();
    std::fs::write(&part, text.replace("quantity = 4", "quantity = 12")).unwrap();
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    // All within their limits, and the sixth beyond those of the chart.
    let digits = [
        "12.60", "12.65", "12.62", "12.66", "12.61", "13.20", "12.63", "12.65", "12.62", "12.64",
        "12.61", "12.63",
    ];
    for (nth, digits) in (1..).zip(digits) {
        daemon.person.post(
            "/api/bench",
            &json!({"bench": "bench-1", "piece": format!("B2/{nth}"), "stage": "formed"}),
        );
        daemon.person.post(
            "/api/readings",
            &json!({"gauge": "keypad-1", "text": format!("{digits} mm")}),
        );
    }
    let browser = Browser::phone(360);
    browser.open(&format!("{}/", daemon.person.base));
    browser.press("nav.below a[href='/trends']");
    browser.until("document.querySelector('.series a') !== null");
    assert_eq!(browser.ask(OVER), json!([]), "the list");
    assert!(browser.text(".series").contains("12 pieces"));
    browser.press(".series a");
    browser.until("document.querySelector('.plot') !== null");
    assert_eq!(browser.ask(OVER), json!([]), "the chart");
    assert_eq!(browser.ask("document.scripts.length"), 0);
    // The point that is out has a shape of its own, its number, and its sentence.
    assert_eq!(
        browser.ask("document.querySelector('.plot').querySelectorAll('.ring').length"),
        1
    );
    assert_eq!(
        browser.ask("document.querySelector('.plot .rule-number').textContent"),
        "1"
    );
    assert!(
        browser
            .text("#offences")
            .contains("Rule 1 of Western Electric 1956, one point beyond 3σ: 6 (B2/6)")
    );
    assert!(browser.text("main").contains("12 readings are few"));
    // The wide chart runs sideways in its own frame, which the keyboard reaches.
    assert_eq!(
        browser.ask(
            "(f => f.scrollWidth > f.clientWidth && f.tabIndex)(document.querySelector('.wide'))"
        ),
        0
    );
    tab_to(&browser, "rules");
    browser.write("N");
    tab_to(&browser, "show");
    browser.key(Key::Enter);
    browser.until("location.search.includes('rules=nelson')");
    browser.until("document.querySelector('.plot') !== null");
    assert!(browser.text("#offences").contains("Rule 1 of Nelson 1984"));
    browser.open(&format!("{}/springback", daemon.person.base));
    assert_eq!(browser.ask(OVER), json!([]), "springback");
    assert!(browser.text("main").contains("Guidance, not acceptance"));
}
