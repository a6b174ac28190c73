//! `oddleg listen` before gauges that say nothing unasked, or nothing in a usual dialect.
#![allow(missing_docs, clippy::unwrap_used)]

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use oddleg_tests::workshop::Workshop;
use oddleg_tests::{Plugged, program};
use rustix::fs::OFlags;
use rustix::termios::tcgetattr;

/// Answers each request at its own speed until dropped, and says nothing else.
struct Answering {
    ended: Arc<AtomicBool>,
    thread: Option<std::thread::JoinHandle<()>>,
}

impl Answering {
    fn plug(port: &Path, request: &'static [u8], answers: &'static [&[u8]], baud: u32) -> Self {
        let ended = Arc::new(AtomicBool::new(false));
        let mut gauge = Plugged::new(port).unwrap();
        rustix::fs::fcntl_setfl(&gauge, OFlags::NONBLOCK).unwrap();
        let thread = std::thread::spawn({
            let ended = Arc::clone(&ended);
            let (mut heard, mut answers) = (Vec::new(), answers.iter().cycle());
            move || {
                while !ended.load(Ordering::Relaxed) {
                    let mut bytes = [0; 64];
                    if let Ok(count) = rustix::io::read(&gauge, &mut bytes) {
                        heard.extend_from_slice(&bytes[..count]);
                    }
                    if heard.ends_with(request) {
                        heard.clear();
                        // The far end of a pseudo-terminal sees the settings of the near one.
                        if tcgetattr(&gauge).unwrap().input_speed() == baud {
                            gauge.send(answers.next().unwrap()).unwrap();
                        }
                    }
                    std::thread::sleep(Duration::from_millis(10));
                }
            }
        });
        Self {
            ended,
            thread: Some(thread),
        }
    }
}

impl Drop for Answering {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
        self.thread.take().unwrap().join().unwrap();
    }
}

/// What was printed for the first setting that was explained, to paste.
fn pasted(said: &str) -> String {
    let (_, lines) = said.split_once(". For oddleg.toml:\n").unwrap();
    let own = lines.lines().take_while(|line| !line.starts_with('#'));
    own.map(|line| format!("{line}\n")).collect()
}

#[test]
fn a_gauge_that_is_asked_is_identified_by_its_letters_and_what_is_printed_can_be_pasted() {
    let workshop = Workshop::new("");
    let port = workshop.port("unknown");
    // It sends the request back before its answer, as some do.
    let answers: &[&[u8]] = &[b"?\rAPD+043.10\r", b"?\rAPD+090.00\r"];
    let _gauge = Answering::plug(&port, b"?\r", answers, 4800);
    let port = port.to_str().unwrap();
    // Unasked it says nothing.
    let silent = program::run(["listen", port, "--for", "1"]);
    assert_eq!(silent.code, Some(74), "{}", silent.said);
    let asked = program::run([
        "listen", port, "--for", "9", "--ask", "?", "--unit", "deg", "--gauge", "angle-9",
    ]);
    assert_eq!(asked.code, Some(0), "{}\n{}", asked.said, asked.complained);
    assert!(
        asked.said.contains("the request, sent back"),
        "{}",
        asked.said
    );
    let printed = pasted(&asked.said);
    for line in [
        "kind = \"angle-gauge\"",
        "line = \"7E2\"",
        "letters = \"APD\"",
        r#"request = "?\r""#,
    ] {
        assert!(printed.contains(line), "{line}: {printed}");
    }
    assert!(
        !printed.contains("stream"),
        "it answers, it does not stream"
    );
    let build = Workshop::new(&printed);
    let check = program::run(["check".as_ref(), build.path()]);
    assert_eq!(check.code, Some(0), "{}", check.complained);
}

/// A line that only a pattern explains, which a build already names for another gauge.
const HOME_MADE: &str = r##"
[gauge.home-made]
bench = "bench-1"
kind = "caliper"
via = "serial"
port = "gauges/home-made"
unit = "in"
dialect = "pattern"
pattern = "#{status} {value};{skip}"
good = "OK"
"##;

#[test]
fn a_pattern_of_the_build_is_tried_where_the_build_is_named() {
    let workshop = Workshop::new(HOME_MADE);
    let port = workshop.port("unknown");
    let _gauge = Answering::plug(&port, b"go\n", &[b"#OK 0.500;x1\r\n"], 9600);
    let listen = |more: &[&str]| {
        let mut all = vec!["listen", port.to_str().unwrap(), "--baud", "9600"];
        all.extend(["--for", "3", "--ask", "go", "--ask-end", "lf"]);
        all.extend(more);
        program::run(all)
    };
    let without = listen(&[]);
    assert_eq!(without.code, Some(74), "{}", without.said);
    assert!(
        without.complained.contains("--config"),
        "{}",
        without.complained
    );
    let with = listen(&["--config", workshop.path().to_str().unwrap()]);
    assert_eq!(with.code, Some(0), "{}\n{}", with.said, with.complained);
    let printed = pasted(&with.said);
    assert!(
        printed.contains(r##"pattern = "#{status} {value};{skip}""##),
        "{printed}"
    );
    assert!(printed.contains("unit = \"in\""), "{printed}");
    let build = Workshop::new(&printed);
    let check = program::run(["check".as_ref(), build.path()]);
    assert_eq!(check.code, Some(0), "{}", check.complained);
}
