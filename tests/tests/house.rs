//! The house: which room may know which, and what no room may bring in.
#![allow(missing_docs)]

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;

/// The arrows of DEVELOPERS.md, without `shared-types`, which every room knows.
const ARROWS: &[(&str, &[&str])] = &[
    ("shared-types", &[]),
    ("nominals", &[]),
    ("intake", &[]),
    ("inspection", &[]),
    ("history", &[]),
    ("trends", &[]),
    ("drawing", &[]),
    ("build-record", &["drawing"]),
    (
        "dashboard",
        &["history", "inspection", "build-record", "drawing", "trends"],
    ),
    (
        "oddleg",
        &[
            "nominals",
            "intake",
            "inspection",
            "history",
            "drawing",
            "build-record",
            "dashboard",
        ],
    ),
    (
        "oddleg-tests",
        &[
            "nominals",
            "intake",
            "inspection",
            "history",
            "drawing",
            "build-record",
            "dashboard",
            "oddleg",
        ],
    ),
];

/// What must be absent from a room's Cargo.toml, tests aside.
const ABSENT: &[(&str, &[&str])] = &[
    (
        "shared-types",
        &[
            "tokio",
            "rusqlite",
            "axum",
            "jiff",
            "rumqttc",
            "tokio-serial",
        ],
    ),
    ("nominals", &["tokio", "rusqlite", "axum", "jiff"]),
    ("intake", &["rusqlite", "axum"]),
    (
        "inspection",
        &["tokio", "rusqlite", "axum", "jiff", "serde"],
    ),
    ("history", &["tokio", "axum", "rumqttc", "ureq"]),
    ("trends", &["tokio", "rusqlite", "axum", "jiff", "serde"]),
    ("drawing", &["tokio", "rusqlite", "axum", "jiff"]),
    ("build-record", &["tokio", "rusqlite", "axum", "ureq"]),
    ("dashboard", &["tokio-serial", "rumqttc", "rusqlite"]),
];

struct Rooms {
    /// Room → what it depends on, dev-dependencies left out.
    needs: BTreeMap<String, BTreeSet<String>>,
}

fn rooms() -> Rooms {
    let output = Command::new(env!("CARGO"))
        .args([
            "metadata",
            "--no-deps",
            "--format-version",
            "1",
            "--offline",
        ])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("cargo metadata runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let metadata: Value = serde_json::from_slice(&output.stdout).expect("cargo metadata is JSON");
    let needs = metadata["packages"]
        .as_array()
        .expect("packages")
        .iter()
        .map(|package| {
            let name = package["name"].as_str().expect("a name").to_owned();
            let needs = package["dependencies"]
                .as_array()
                .expect("dependencies")
                .iter()
                .filter(|dependency| dependency["kind"] != "dev")
                .map(|dependency| dependency["name"].as_str().expect("a name").to_owned())
                .collect();
            (name, needs)
        })
        .collect();
    Rooms { needs }
}

fn wrong_arrows(rooms: &Rooms) -> Vec<String> {
    let allowed: BTreeMap<&str, &[&str]> = ARROWS.iter().copied().collect();
    let mut wrong = Vec::new();
    for (room, needs) in &rooms.needs {
        let Some(arrows) = allowed.get(room.as_str()) else {
            wrong.push(format!("{room} is a room the design does not have"));
            continue;
        };
        for other in needs.iter().filter(|name| rooms.needs.contains_key(*name)) {
            if other != "shared-types" && !arrows.contains(&other.as_str()) {
                wrong.push(format!("{room} → {other}"));
            }
        }
    }
    for (room, absent) in ABSENT {
        for name in *absent {
            if rooms
                .needs
                .get(*room)
                .is_some_and(|needs| needs.contains(*name))
            {
                wrong.push(format!("{room} brings in {name}"));
            }
        }
    }
    wrong
}

#[test]
fn no_arrow_between_rooms_that_the_design_does_not_have() {
    let rooms = rooms();
    assert_eq!(rooms.needs.len(), ARROWS.len(), "{:?}", rooms.needs.keys());
    assert_eq!(wrong_arrows(&rooms), Vec::<String>::new());
}

#[test]
fn a_wrong_arrow_would_be_seen() {
    let mut rooms = rooms();
    for (room, needed) in [
        ("inspection", "history"),
        ("history", "tokio"),
        ("drawing", "nominals"),
    ] {
        rooms
            .needs
            .get_mut(room)
            .expect("the room")
            .insert(needed.to_owned());
    }
    rooms.needs.insert("cellar".to_owned(), BTreeSet::new());
    assert_eq!(
        wrong_arrows(&rooms),
        [
            "cellar is a room the design does not have",
            "drawing → nominals",
            "inspection → history",
            "history brings in tokio"
        ]
    );
}

/// Every path that DEVELOPERS.md names exists.
#[test]
fn the_map_names_only_what_is_there() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
    let map = std::fs::read_to_string(format!("{root}/DEVELOPERS.md")).expect("DEVELOPERS.md");
    let mut named = 0;
    for word in map.split('`').skip(1).step_by(2) {
        let path_like = word.contains('/')
            && word
                .bytes()
                .all(|b| b.is_ascii_alphanumeric() || b"./_-".contains(&b));
        let of_the_tree = [
            "services/",
            "shared-types/",
            "tests/",
            "deploy/",
            "demo-readings/",
            ".ci/",
        ];
        if path_like && of_the_tree.iter().any(|top| word.starts_with(top)) {
            named += 1;
            assert!(
                std::path::Path::new(root).join(word).exists(),
                "DEVELOPERS.md names {word}, which is not there"
            );
        }
    }
    assert!(named > 10, "DEVELOPERS.md names {named} paths");
}

/// Every key that the configuration takes stands in the example, which is what a person reads.
#[test]
fn the_example_configuration_has_every_key_there_is() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
    let example = std::fs::read_to_string(format!("{root}/deploy/oddleg.example.toml"))
        .expect("the example configuration");
    let is_of_a_name = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let words: BTreeSet<&str> = example.split(|c| !is_of_a_name(c)).collect();
    let config = format!("{root}/services/oddleg/src/config");
    let mut files = vec![format!("{config}.rs").into()];
    for dir in [config.clone(), format!("{config}/gauge")] {
        let listed = std::fs::read_dir(dir).expect("the configuration's sources");
        files.extend(listed.map(|file| file.expect("a file").path()));
    }
    let mut keys = BTreeSet::new();
    for file in files.iter().filter(|file| file.is_file()) {
        let source = std::fs::read_to_string(file).expect("a source");
        let mut rest = source.as_str();
        // Lists of keys are written as `only(&[…])` or as a constant of that name.
        while let Some(at) = rest
            .find("only(&[")
            .into_iter()
            .chain(rest.find("KEYS: [&str;"))
            .min()
        {
            let list = &rest[at..];
            let list = list.strip_prefix("only(&[").unwrap_or_else(|| {
                let (_, list) = list.split_once("= [").expect("the constant's list");
                list
            });
            let (list, after) = list.split_once(']').expect("the list's end");
            keys.extend(list.split('"').skip(1).step_by(2).map(str::to_owned));
            rest = after;
        }
    }
    assert!(keys.len() > 40, "found only the keys {keys:?}");
    let missing: Vec<&String> = keys
        .iter()
        .filter(|key| !words.contains(key.as_str()))
        .collect();
    assert!(missing.is_empty(), "not in the example: {missing:?}");
}
