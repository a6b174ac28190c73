//! A write that fails: the daemon stops, says why, and nothing it acknowledged is lost.
#![allow(missing_docs)]
#![allow(
    clippy::unwrap_used,
    reason = "what cannot be set up here fails the test"
)]

use std::fs::Permissions;
use std::os::unix::fs::PermissionsExt as _;

use oddleg_tests::daemon::Daemon;
use oddleg_tests::program;
use oddleg_tests::workshop::Workshop;
use serde_json::json;

/// The kernel refuses to let any file grow beyond this many blocks of 512 bytes: a full disk, for one
/// process. Enough for a start and some readings.
const BLOCKS_MAX: u32 = 600;

/// More readings than fit.
const READINGS: usize = 2_000;

#[test]
fn a_failed_write_stops_the_daemon_with_its_reason_and_costs_no_acknowledged_reading() {
    let workshop = Workshop::new("");
    let limited = workshop.path().join("oddleg-on-a-full-disk");
    let script = format!(
        "#!/bin/sh\ntrap '' XFSZ\nulimit -f {BLOCKS_MAX}\nexec '{}' \"$@\"\n",
        program::oddleg().display()
    );
    std::fs::write(&limited, script).unwrap();
    std::fs::set_permissions(&limited, Permissions::from_mode(0o755)).unwrap();

    let daemon = Daemon::start(&limited, workshop.path());
    let mut acknowledged = Vec::new();
    let refused = (0..READINGS).find_map(|number| {
        let text = format!("{}.{:03} mm", 900 + number / 1000, number % 1000);
        let body = json!({"gauge": "keypad-1", "text": text});
        match daemon.person.try_post("/api/readings", &body) {
            Some((200..300, answer)) => {
                acknowledged.push((answer["seq"].as_u64().unwrap(), text));
                None
            }
            Some((status, _)) => Some(status),
            None => Some(0),
        }
    });
    assert!(
        !acknowledged.is_empty(),
        "the limit left no room for a reading"
    );
    assert!(
        matches!(refused, Some(503 | 0)),
        "the disk was never full: {refused:?}"
    );
    assert_eq!(daemon.ended(), Some(74));
    let log = std::fs::read_to_string(workshop.path().join("daemon.log")).unwrap();
    assert!(
        log.contains("stopped so that nothing is acknowledged that is not on disk"),
        "{log}"
    );

    let daemon = Daemon::start(&program::oddleg(), workshop.path());
    for (seq, text) in &acknowledged {
        let history = daemon
            .person
            .get(&format!("/api/history?after={}&limit=1", seq - 1));
        let raw: Vec<u8> =
            serde_json::from_value(history["entries"][0]["event"]["observed"]["raw"].clone())
                .unwrap();
        assert_eq!(String::from_utf8(raw).unwrap(), *text, "entry {seq}");
    }
    assert_eq!(daemon.stop(), Some(0));
    history::verify(workshop.path(), &[]).unwrap();
}
