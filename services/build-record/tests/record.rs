//! One small invented history, and what its record must say about it.
#![allow(clippy::unwrap_used, reason = "whatever fails here fails the test")]

mod kept;

use std::collections::BTreeMap;

use build_record::{Row, Source, csv, json};
use kept::*;
use shared_types::*;

#[test]
fn the_sheet_says_of_every_reading_what_came_of_it() {
    let rows = history();
    let sheet = sheet(&rows);
    let of = |seq: &str, column: &str| {
        let row = sheet.iter().find(|row| row["seq"] == seq);
        row.unwrap_or_else(|| panic!("no row for entry {seq}"))[column].clone()
    };
    for (seq, column, expect) in [
        ("5", "came", "judged: too large"),
        ("5", "counts", "no"),
        ("5", "stands", "no"),
        ("5", "verdict", ""),
        ("5", "time_utc", "2026-11-25T10:41:05.000000Z"),
        ("5", "piece", "B2/3"),
        ("6", "verdict", "pass"),
        ("6", "counts", "yes"),
        ("6", "stands", "no"),
        ("6", "nominal", "12.7 mm"),
        ("6", "lower", "11.90625 mm"),
        ("6", "upper", "13.49375 mm"),
        ("6", "tolerance", "stated in the part file"),
        ("6", "revision", "2"),
        ("6", "gauge_serial_number", "SM-0117"),
        ("7", "value", "90°15'00.36\""),
        ("7", "value_arcsec", "324900.36"),
        ("7", "value_mm", ""),
        ("7", "nominal_mm", ""),
        ("7", "nominal_arcsec", "324000"),
        ("6", "nominal_mm", "12.7"),
        ("6", "lower_mm", "11.90625"),
        ("6", "upper_mm", "13.49375"),
        ("7", "stands", "yes"),
        (
            "8",
            "came",
            "held: it fits only in another unit: the gauge may be set to the wrong one",
        ),
        ("8", "characteristic", "formed.height.right"),
        ("8", "digits", "0.502"),
        ("8", "unit", "mm"),
        ("8", "value_mm", "12.7508"),
        ("8", "verdict", "pass"),
        ("9", "came", "garbled: is not how this gauge writes a value"),
        ("9", "counts", "no"),
        ("12", "verdict", "too small"),
        ("12", "stands", "yes"),
        ("14", "counts", "no"),
        ("14", "changes", ""),
    ] {
        assert_eq!(of(seq, column), expect, "entry {seq}, {column}");
    }
    assert!(
        of("5", "changes").ends_with(": the jaws slipped"),
        "{}",
        of("5", "changes")
    );
    assert!(
        of("8", "changes")
            .starts_with("assigned to formed.height.right, its digits read as in, by entry 11")
    );
    assert_eq!(
        sheet
            .iter()
            .filter(|row| row["kind"] == "observation")
            .count(),
        7,
        "one row for each"
    );
}

#[test]
fn a_dimension_that_no_reading_decides_has_a_row_that_says_so() {
    let rows = history();
    let open = |rows: &[Row]| -> Vec<String> {
        let sheet = sheet(rows);
        let of = |row: &BTreeMap<String, String>| {
            assert_eq!((row["seq"].as_str(), row["stands"].as_str()), ("", ""));
            format!(
                "{} {} {}",
                row["piece"], row["characteristic"], row["nominal"]
            )
        };
        let open = sheet.iter().filter(|row| row["kind"] == "not measured");
        open.map(of).collect()
    };
    assert!(open(&rows).is_empty(), "in the end all three are decided");
    // Before its first good reading entry 7 is missing.
    assert_eq!(
        open(&rows[..6]),
        [
            "B2/3 formed.angle.left 90°00'00\"",
            "B2/3 formed.height.right 12.7 mm"
        ]
    );
}

#[test]
fn no_cell_of_the_sheet_is_a_formula_and_numbers_stay_numbers() {
    let rows = history();
    for row in sheet(&rows) {
        for (column, cell) in row {
            let formula =
                cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
            assert!(!formula, "{column}: {cell:?}");
        }
    }
    let text = String::from_utf8(csv(&Source {
        rows: &rows,
        checkpoint: NOTE,
    }))
    .unwrap();
    assert!(
        text.contains(",+14.02,"),
        "a signed number is left as it came"
    );
    assert!(
        text.contains(",'=cmd|' /C calc'!A0\\x1b,"),
        "raw bytes are neutralised and printable"
    );
    assert!(text.contains("'=HYPERLINK"), "and what a person wrote");
    assert!(
        text.contains("'@caliper"),
        "and what the configuration says"
    );
}

#[test]
fn the_checkpoint_and_the_cautions_are_rows_of_their_own() {
    let rows = history();
    let sheet = sheet(&rows);
    let last = sheet.last().unwrap();
    assert_eq!(
        (
            last["kind"].as_str(),
            last["seq"].as_str(),
            last["note"].as_str()
        ),
        ("checkpoint", "14", NOTE)
    );
    assert!(
        sheet
            .iter()
            .any(|row| row["kind"] == "caution" && row["note"].contains("licensed inspector"))
    );
}

#[test]
fn the_tree_keeps_every_entry_to_the_byte_and_works_the_pieces_out() {
    let rows = history();
    let record: serde_json::Value = serde_json::from_str(&json(&Source {
        rows: &rows,
        checkpoint: NOTE,
    }))
    .unwrap();
    assert_eq!(record["build"], "Saltmarsh floats (invented)");
    assert_eq!(record["checkpoint"], NOTE);
    for (row, entry) in rows.iter().zip(record["entries"].as_array().unwrap()) {
        assert_eq!(entry["seq"], row.entry.seq.0);
        assert_eq!(entry["body"], row.body.as_str());
    }
    assert_eq!(record["entries"].as_array().unwrap().len(), rows.len());
    let stage = &record["pieces"][0]["stages"][0];
    assert_eq!(record["pieces"][0]["piece"], "B2/3");
    assert_eq!(stage["complete"], false);
    let left = &stage["characteristics"][0];
    assert_eq!(left["standing"], 12, "the one put there last");
    assert_eq!(left["verdict"], "too-small");
    let attempts: Vec<u64> = left["attempts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|a| a["entry"].as_u64().unwrap())
        .collect();
    assert_eq!(attempts, [6, 12], "the voided one is not among them");
    assert_eq!(record["changes"].as_array().unwrap().len(), 3);
    assert_eq!(
        record["held"].as_array().unwrap().len(),
        1,
        "one waits still"
    );
    assert_eq!(
        record["plans"][0]["characteristics"][0]["lower"],
        "11.90625 mm"
    );
}

#[test]
fn the_digits_stay_as_sent_and_the_record_says_how_they_were_understood() {
    let mut h = History(history());
    let held = Finding::Held {
        reason: HeldReason::OtherLeg,
        on_bench: Some((piece(), Stage::Formed)),
        candidates: Vec::new(),
        offset: None,
    };
    let read = h.read("91.5", reading("91.5", Unit::Degree), held);
    let said = h.put(
        Event::Assigned {
            bench: bench(),
            reading: read,
            characteristic: id("formed.angle.left"),
            unit: None,
            form: Some(Form::Supplement),
        },
        judged("formed.angle.left", "88.5 deg", Verdict::Pass),
    );
    let off = h.read(
        "13.90",
        reading("13.90", Unit::Millimetre),
        Finding::Held {
            reason: HeldReason::NotZeroed,
            on_bench: Some((piece(), Stage::Formed)),
            candidates: Vec::new(),
            offset: Some(SameOffset {
                by: Quantity::parse("1.2 mm").unwrap(),
                readings: vec![Seq(5), Seq(12)],
            }),
        },
    );
    let sheet = sheet(&h.0);
    let row = sheet.iter().find(|row| row["seq"] == off.to_string());
    let came = &row.expect("the reading's row")["came"];
    assert!(
        came.ends_with("(1.2 mm from the middle of their limits, with entries 5, 12)"),
        "{came}"
    );
    let row = sheet.iter().find(|row| row["seq"] == read.to_string());
    let row = row.expect("the reading's row");
    assert_eq!(
        (row["digits"].as_str(), row["value"].as_str()),
        ("91.5", "88°30'00\"")
    );
    assert!(
        row["changes"].starts_with(&format!(
            "assigned to formed.angle.left, understood as 180° minus what was shown, by entry {said}"
        )),
        "{}",
        row["changes"]
    );
}

#[test]
fn the_record_agrees_with_the_shop_on_what_stands() {
    let rows = history();
    let mut shop = Shop::default();
    for row in &rows {
        shop.apply(&row.entry);
    }
    let sheet = sheet(&rows);
    let mut standing = 0;
    for (piece, state) in &shop.pieces {
        for of in state.measured.keys() {
            let Some(stands) = state.standing(of) else {
                continue;
            };
            standing += 1;
            let row = sheet
                .iter()
                .find(|row| row["seq"] == stands.seq.to_string())
                .unwrap();
            assert_eq!(row["stands"], "yes", "{piece} {of}");
            assert_eq!(row["value"], stands.value.to_string());
            assert_eq!(row["verdict"], stands.verdict.to_string());
        }
    }
    assert_eq!(standing, 3);
    assert_eq!(
        sheet.iter().filter(|row| row["stands"] == "yes").count(),
        3,
        "and on nothing else"
    );
}

#[test]
fn an_empty_history_has_a_record_too() {
    let source = Source {
        rows: &[],
        checkpoint: "",
    };
    assert!(csv(&source).starts_with(b"kind,seq,"));
    let record: serde_json::Value = serde_json::from_str(&json(&source)).unwrap();
    assert_eq!(record["entries"].as_array().unwrap().len(), 0);
}

#[test]
fn no_record_says_that_a_part_may_fly() {
    let rows = history();
    let source = Source {
        rows: &rows,
        checkpoint: NOTE,
    };
    let all = json(&source) + &String::from_utf8(csv(&source)).unwrap();
    assert!(!all.to_lowercase().contains("airworthy"));
}
