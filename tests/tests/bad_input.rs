//! What a person wrote wrongly is told at once, with its place, and nothing is opened; what a program
//! asks wrongly is refused with its reason, and nothing is written.
#![allow(missing_docs, clippy::unwrap_used)]

mod mistakes;

use std::collections::BTreeMap;
use std::net::TcpListener;
use std::path::Path;

use mistakes::MISTAKES;
use oddleg_tests::daemon::Daemon;
use oddleg_tests::program::{self, Run};
use oddleg_tests::workshop::Workshop;
use oddleg_tests::{Plugged, wait};
use serde_json::Value;

const CONFIG: &str = "oddleg.toml";
const PART: &str = "parts/B2.toml";

/// A workshop after each `(file, what, instead)` was replaced once; an empty `what` is put at the end.
fn workshop(changes: &[(&str, &str, &str)]) -> Workshop {
    let workshop = Workshop::new("");
    for (file, what, instead) in changes {
        let path = workshop.path().join(file);
        let text = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(text.contains(what), "{what:?} is not in {file}");
        let changed = if what.is_empty() {
            format!("{text}{instead}")
        } else {
            text.replacen(what, instead, 1)
        };
        std::fs::write(path, changed).unwrap();
    }
    workshop
}

fn check(dir: &Path) -> Run {
    program::run(["check".as_ref(), dir])
}

/// Every file below `dir` with its bytes.
fn files(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        let name = path.display().to_string();
        if path.is_dir() {
            found.append(&mut files(&path));
        } else if path.is_file() {
            found.insert(name, std::fs::read(&path).unwrap());
        }
    }
    found
}

#[test]
fn each_mistake_is_told_with_its_line_what_was_found_and_what_was_expected() {
    for (changes, expected) in MISTAKES {
        let workshop = workshop(changes);
        let run = check(workshop.path());
        assert_eq!(run.complained, told(expected));
        assert_eq!(run.code, Some(64));
    }
}

/// All mistakes, and their count.
fn told(mistakes: &[&str]) -> String {
    let count = mistakes.len();
    let word = if count == 1 { "mistake" } else { "mistakes" };
    format!(
        "oddleg: {}\n{count} {word}; nothing was opened\n",
        mistakes.join("\n")
    )
}

#[test]
fn what_cannot_be_read_is_told_beside_the_other_mistakes() {
    let build = workshop(&[(CONFIG, "units = \"mm\"", "units = \"ell\"")]);
    std::fs::write(build.path().join("parts/A1.toml"), b"part = \"A1\xff\"").unwrap();
    std::fs::create_dir(build.path().join("parts/D1.toml")).unwrap();
    let run = check(build.path());
    assert_eq!(run.code, Some(64));
    assert_eq!(
        run.complained,
        told(&[
            r#"oddleg.toml:4: build.units: found "ell", expected "mm", "in" or "in-fractions""#,
            "parts/A1.toml:1: cannot be read: stream did not contain valid UTF-8; expected a text file",
            "parts/D1.toml:1: cannot be read: Is a directory (os error 21); expected a text file",
        ])
    );

    let build = workshop(&[(CONFIG, "units = \"mm\"", "units = \"ell\"")]);
    std::fs::remove_dir_all(build.path().join("parts")).unwrap();
    let run = check(build.path());
    assert_eq!(run.code, Some(64));
    assert_eq!(
        run.complained,
        told(&[
            r#"oddleg.toml:4: build.units: found "ell", expected "mm", "in" or "in-fractions""#,
            "parts:1: cannot be read: No such file or directory (os error 2); expected a directory with part files",
        ])
    );

    let nowhere = build.path().join("elsewhere");
    let run = check(&nowhere);
    assert_eq!(run.code, Some(64));
    assert_eq!(
        run.complained,
        format!(
            "oddleg: reading {}/oddleg.toml: No such file or directory (os error 2); expected a build directory with an \
             oddleg.toml in it\n",
            nowhere.display()
        )
    );
}

#[test]
fn nothing_is_opened_bound_or_written_for_a_build_with_a_mistake() {
    // Whoever binds an address that is taken fails at that, and says so: here it must not come so far.
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let http = format!("\n[http]\nlisten = \"{}\"\n", taken.local_addr().unwrap());
    for (mistake, code) in [("quantity = 0", 64), ("quantity = 4", 74)] {
        let workshop = Workshop::new(&http);
        let part = workshop.path().join(PART);
        let text = std::fs::read_to_string(&part).unwrap();
        std::fs::write(&part, text.replace("quantity = 4", mistake)).unwrap();
        let gauge = Plugged::new(&workshop.port("caliper-1")).unwrap();
        let before = files(workshop.path());
        let run = program::run(["serve".as_ref(), workshop.path()]);
        assert_eq!(run.code, Some(code), "{}", run.complained);
        let untouched = files(workshop.path()) == before;
        // The second build has no mistake: it comes as far as the address, and shows that this would be seen.
        assert_eq!(untouched, code == 64);
        assert_eq!(
            run.complained.contains("for the screen"),
            code == 74,
            "{}",
            run.complained
        );
        assert!(
            !was_opened(&gauge),
            "the screen's address comes before any port"
        );
        drop(std::fs::File::open(workshop.port("caliper-1")).unwrap());
        assert!(was_opened(&gauge), "an open port would be seen");
    }
}

/// Whether anybody has opened the gauge's port and closed it again: its far end then reads an error, where
/// before there was just nothing to read.
fn was_opened(gauge: &Plugged) -> bool {
    rustix::fs::fcntl_setfl(gauge, rustix::fs::OFlags::NONBLOCK).unwrap();
    match rustix::io::read(gauge, &mut [0; 1]) {
        Err(error) => error != rustix::io::Errno::AGAIN,
        Ok(_) => true,
    }
}

/// Where to, headers, body; the status and what the detail must say.
type Request<'a> = (&'a str, &'a [(&'a str, &'a str)], &'a str, u16, &'a str);

#[test]
fn what_is_asked_wrongly_is_refused_as_a_problem_and_writes_nothing() {
    let workshop = Workshop::new("");
    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    let person = &daemon.person;
    // Its port is not there; that is noted once, and nothing else is written by itself.
    wait::until("the gauge's state", || {
        (person.gauge_state("caliper-1") == "unplugged").then_some(())
    });
    let before = person.newest();
    const JSON: (&str, &str) = ("content-type", "application/json");
    let typed = r#"{"gauge": "keypad-1", "text": "12.7 mm"}"#;
    let nobody = r#"{"gauge": "nobody", "text": "12.7 mm"}"#;
    let fits = format!("{nobody}{}", " ".repeat(64 * 1024 - nobody.len()));
    let bulky = format!("{typed}{}", " ".repeat(64 * 1024 + 1 - typed.len()));
    let operator = r#"{"bench": "bench-1", "operator": "MK"}"#;
    let cases: &[Request<'_>] = &[
        (
            "/api/readings",
            &[JSON],
            &bulky,
            413,
            "more than 65536 bytes",
        ),
        (
            "/api/readings",
            &[JSON],
            &fits,
            404,
            "there is no gauge \"nobody\"",
        ),
        (
            "/api/readings",
            &[JSON, ("host", "workshop.example")],
            typed,
            403,
            "found Host \"workshop.example\"",
        ),
        (
            "/api/bench",
            &[JSON, ("origin", "http://workshop.example")],
            operator,
            403,
            "found Origin",
        ),
        (
            "/api/bench",
            &[JSON, ("origin", "null")],
            operator,
            403,
            "found Origin",
        ),
        (
            "/api/bench",
            &[("content-type", "text/plain")],
            operator,
            415,
            "expected application/json",
        ),
        (
            "/api/bench",
            &[],
            operator,
            415,
            "expected application/json",
        ),
        (
            "/api/readings",
            &[JSON],
            r#"{"gauge": "#,
            422,
            "reading the JSON body",
        ),
        (
            "/api/readings",
            &[JSON],
            r#"{"gauge": "keypad-1", "text": "1 mm", "unit": "in"}"#,
            422,
            "unknown field",
        ),
        (
            "/api/readings",
            &[JSON],
            r#"{"gauge": "keypad-1"}"#,
            422,
            "text is missing",
        ),
        (
            "/api/bench",
            &[JSON],
            r#"{"bench": "bench-9", "operator": "MK"}"#,
            404,
            "there is no bench \"bench-9\"",
        ),
        (
            "/api/bench",
            &[JSON],
            r#"{"piece": "B2/9", "stage": "formed"}"#,
            404,
            "part B2 has 4 pieces",
        ),
        (
            "/api/bench",
            &[JSON],
            r#"{"piece": "B2/1", "stage": "blocks"}"#,
            409,
            "nothing to measure at stage blocks",
        ),
        (
            "/api/bench",
            &[JSON],
            r#"{"next": "formed.height.left"}"#,
            409,
            "no piece lies on this bench",
        ),
        (
            "/api/held/1",
            &[JSON],
            r#"{"characteristic": "formed.height.left"}"#,
            404,
            "entry 1 is not a reading",
        ),
        (
            "/api/voids",
            &[JSON],
            r#"{"reading": 1, "reason": "slipped"}"#,
            404,
            "entry 1 is not a reading",
        ),
        ("/api/pieces", &[JSON], "{}", 405, "other methods"),
        (
            "/api/nowhere",
            &[JSON],
            "{}",
            404,
            "nothing at this address",
        ),
    ];
    for (path, headers, body, status, detail) in cases {
        let answer = person.send(path, headers, body.as_bytes());
        let shown = &body[..body.len().min(80)];
        assert_eq!(
            answer.status, *status,
            "{path} {headers:?} {shown}: {answer:?}"
        );
        assert_eq!(answer.kind, "application/problem+json", "{path} {shown}");
        let problem: Value = serde_json::from_str(&answer.text).unwrap();
        assert_eq!(problem["status"], *status);
        let said = problem["detail"].as_str().unwrap();
        assert!(said.contains(detail), "{path} {shown}: {said}");
        assert_eq!(person.newest(), before, "{path} {shown} wrote something");
    }
    // From here, in the right form, the same act is done: it was not refused for something else.
    let host = person.base.trim_start_matches("http://");
    let from_here = [JSON, ("host", host), ("origin", person.base.as_str())];
    let answer = person.send("/api/bench", &from_here, operator.as_bytes());
    assert_eq!(
        (answer.status, person.newest()),
        (200, before + 1),
        "{answer:?}"
    );
}

#[test]
fn the_example_configuration_has_no_mistake() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
    let workshop = Workshop::new("");
    std::fs::copy(
        format!("{root}/deploy/oddleg.example.toml"),
        workshop.path().join(CONFIG),
    )
    .unwrap();
    std::fs::copy(
        format!("{root}/demo-readings/parts/B2.toml"),
        workshop.path().join(PART),
    )
    .unwrap();
    let run = check(workshop.path());
    assert_eq!((run.code, run.complained.as_str()), (Some(0), ""));
    assert!(
        run.said.contains("1 part, 1 bench, 15 gauges, no mistakes"),
        "{}",
        run.said
    );
}

/// In the order they stand in, on a build of one's own.
#[test]
fn the_commands_in_the_readme_run_as_they_stand() {
    let readme =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../README.md")).unwrap();
    let workshop = Workshop::new("");
    let dir = workshop.path().to_str().unwrap();
    let mut ran = Vec::new();
    for line in readme.lines().filter(|line| line.starts_with("oddleg ")) {
        let command = line.split('#').next().unwrap().trim();
        let words: Vec<String> = command
            .split_whitespace()
            .skip(1)
            .map(|word| {
                if word.starts_with("build.") || word.starts_with("B2.") {
                    format!("{dir}/{word}")
                } else {
                    word.replace("DIR", dir)
                }
            })
            .collect();
        if words[0] == "serve" {
            assert_eq!(
                Daemon::start(&program::oddleg(), workshop.path()).stop(),
                Some(0)
            );
        } else {
            // What the comment offers as well: `record` to either ending.
            let mut ways = vec![words.clone()];
            if words[0] == "record" {
                ways.push(
                    words
                        .iter()
                        .map(|word| word.replace(".csv", ".json"))
                        .collect(),
                );
            }
            for way in ways {
                let run = program::run(&way);
                assert_eq!(run.code, Some(0), "{way:?}: {}", run.complained);
            }
        }
        ran.push(words[0].clone());
    }
    assert_eq!(
        ran,
        ["check", "nominals", "layout", "serve", "record", "verify"]
    );
}
