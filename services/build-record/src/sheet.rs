//! The record as CSV: a header, then one row for everything a gauge sent, in order; then one for
//! every dimension of a piece that no reading decides yet.
//!
//! The file is plain CSV without comment lines, so any spreadsheet and any script reads it. The first
//! column tells the rows apart: `observation` (what a gauge sent), `computed` (a value computed from
//! readings, which `computed_from` names by their entries), `not measured`, `piece` (how far it is), `disposition`
//! (what was decided about a fail, in `came`, by whom, and why), `first article` (whether the other pieces are
//! released), `begun early` (a piece laid down before that, and why), `caution`, and at the
//! end one `checkpoint`, whose `seq` is the number of entries and whose `note` is the signed text.

use shared_types::{
    Characteristic, Decoded, Finding, PartPlan, PieceId, Quantity, Reading, Seq, Via, printable,
};

use crate::cell::{cell, thousandths};
use crate::computed::Computed;
use crate::decisions::{Decision, first_articles, piece_told};
use crate::grounds;
use crate::ledger::{Change, Judged, Ledger, Sent, What};
use crate::tree::as_read;
use crate::when::when;
use crate::{CAUTIONS, Source};

/// The columns, in order: what was measured, what was wanted and what came of it; then who, with what
/// and how; then the same once more for machines.
///
/// `came` is what was concluded when it came, `verdict` what holds after all corrections; `counts` says
/// whether it is a reading of its dimension now, `stands` whether it is the last such. `suspect` names the failed check of its gauge that puts it in doubt. `tried_in` is the
/// mating piece at fit-up, and `judged_by` says whether nominal and limits are the plan's or a mating piece's. The `_mm` and `_arcsec` columns are exact decimal numbers, of lengths and of
/// angles.
pub const COLUMNS: [&str; 55] = [
    "kind",
    "seq",
    "time_utc",
    "piece",
    "stage",
    "number",
    "name",
    "value",
    "nominal",
    "lower",
    "upper",
    "tolerance",
    "verdict",
    "counts",
    "stands",
    "suspect",
    "until_it_passed",
    "computed_from",
    "tried_in",
    "judged_by",
    "came",
    "changes",
    "operator",
    "decided_by",
    "bench",
    "gauge",
    "gauge_title",
    "gauge_serial_number",
    "via",
    "raw",
    "digits",
    "unit",
    "value_mm",
    "nominal_mm",
    "lower_mm",
    "upper_mm",
    "value_arcsec",
    "nominal_arcsec",
    "lower_arcsec",
    "upper_arcsec",
    "characteristic",
    "revision",
    "plan_digest",
    "note",
    "as_read",
    "correction",
    grounds::COLUMNS[0],
    grounds::COLUMNS[1],
    grounds::COLUMNS[2],
    grounds::COLUMNS[3],
    grounds::COLUMNS[4],
    grounds::COLUMNS[5],
    grounds::COLUMNS[6],
    grounds::COLUMNS[7],
    grounds::COLUMNS[8],
];

/// The record as CSV (UTF-8, comma, CRLF as RFC 4180 has it). See [`COLUMNS`].
#[must_use]
pub fn csv(source: &Source<'_>) -> Vec<u8> {
    let ledger = Ledger::new(source.rows);
    let mut out = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let mut put = |row: Line| {
        out.write_record(row.0)
            .expect("a Vec takes all that is written, and every row has all columns");
    };
    put(Line(COLUMNS.map(str::to_owned)));
    for (&seq, sent) in &ledger.sent {
        put(observation(&ledger, seq, sent));
    }
    for computed in ledger.computed.values().flatten() {
        put(computed_row(&ledger, computed));
    }
    for (piece, plan, wanted) in ledger.undecided() {
        put(undecided(&ledger, piece, plan, wanted));
    }
    for piece in ledger.pieces.keys() {
        put(state_of(&ledger, piece));
    }
    for (&entry, decision) in &ledger.decisions {
        put(decided(&ledger, entry, decision));
    }
    for first in first_articles(&ledger) {
        let mut line = Line::new("first article");
        let piece = first.piece.as_ref();
        line.set("piece", piece.map(PieceId::to_string).unwrap_or_default());
        line.set(
            "seq",
            first
                .released
                .map(|seq| seq.to_string())
                .unwrap_or_default(),
        );
        line.set("time_utc", first.at.clone().unwrap_or_default());
        line.set("note", cell(&first.told()));
        put(line);
    }
    for (&entry, begun) in &ledger.early {
        let mut line = Line::new("begun early");
        line.set("seq", entry.to_string());
        line.set("time_utc", when(begun.at_us));
        line.set("piece", begun.piece.to_string());
        line.set("stage", begun.stage.to_string());
        line.set("operator", cell(begun.operator));
        line.set("bench", cell(begun.bench.as_str()));
        line.set("note", cell(begun.reason));
        put(line);
    }
    for caution in CAUTIONS {
        let mut line = Line::new("caution");
        line.set("note", caution.to_owned());
        put(line);
    }
    let mut line = Line::new("checkpoint");
    line.set("seq", source.rows.len().to_string());
    line.set("note", cell(source.checkpoint));
    put(line);
    out.into_inner()
        .expect("a Vec has nothing left to flush that could fail")
}

struct Line([String; COLUMNS.len()]);

impl Line {
    fn new(kind: &str) -> Self {
        let mut line = Self(std::array::from_fn(|_| String::new()));
        line.set("kind", kind.to_owned());
        line
    }

    fn set(&mut self, column: &str, text: String) {
        let at = COLUMNS
            .iter()
            .position(|c| *c == column)
            .expect("every column written is in COLUMNS");
        self.0[at] = text;
    }
}

/// A dimension that nothing decides: it must not be missed only because there is no row of it.
fn undecided(
    ledger: &Ledger<'_>,
    piece: &PieceId,
    plan: &PartPlan,
    wanted: &Characteristic,
) -> Line {
    let mut line = Line::new("not measured");
    line.set("piece", piece.to_string());
    line.set("characteristic", wanted.id.to_string());
    line.set("plan_digest", cell(&plan.digest));
    if let Some(revision) = ledger.newest.get(&plan.part) {
        line.set("revision", revision.to_string());
    }
    set_wanted(&mut line, plan, piece, wanted);
    line
}

/// How far a piece is, whether or not anything was measured on it.
fn state_of(ledger: &Ledger<'_>, piece: &PieceId) -> Line {
    let mut line = Line::new("piece");
    line.set("piece", piece.to_string());
    line.set("note", cell(&piece_told(&ledger.shop, piece)));
    line
}

fn decided(ledger: &Ledger<'_>, entry: Seq, decision: &Decision<'_>) -> Line {
    let mut line = Line::new("disposition");
    line.set("seq", entry.to_string());
    line.set("time_utc", when(decision.at_us));
    line.set("piece", decision.piece.to_string());
    line.set("came", decision.told());
    line.set("operator", cell(decision.operator));
    line.set("decided_by", cell(decision.by));
    line.set("bench", cell(decision.bench.as_str()));
    line.set("note", cell(decision.reason));
    let Some(id) = decision.characteristic else {
        return line;
    };
    line.set("characteristic", id.to_string());
    let newest = ledger.newest.get(decision.piece.part());
    let plan = newest.and_then(|seq| ledger.plans.get(seq));
    if let Some((plan, wanted)) = plan.and_then(|plan| Some((plan, plan.characteristic(id)?))) {
        let words = plan.words(id, decision.piece.hand());
        line.set("stage", wanted.stage.to_string());
        line.set("number", wanted.number.to_string());
        line.set("name", cell(words.map_or(&wanted.name, |words| words.name)));
    }
    line
}

/// The readings that failed before it, where no rework was decided in between.
fn until_it_passed(ledger: &Ledger<'_>, judged: &Judged<'_>) -> String {
    let state = ledger.shop.pieces.get(judged.piece);
    let fails = state.map_or_else(Vec::new, |s| s.until_it_passed(judged.characteristic));
    let fails: Vec<String> = fails
        .iter()
        .map(|a| format!("entry {}: {}, {}", a.seq, a.value, a.verdict))
        .collect();
    if fails.is_empty() {
        return String::new();
    }
    format!(
        "passed at attempt {}, no rework stated; before it {}",
        fails.len() + 1,
        fails.join("; ")
    )
}

fn computed_row(ledger: &Ledger<'_>, computed: &Computed<'_>) -> Line {
    let mut line = Line::new("computed");
    let from: Vec<String> = computed.derived.from.iter().map(Seq::to_string).collect();
    line.set("seq", computed.reading.to_string());
    if let Some(sent) = ledger.sent.get(&computed.reading) {
        line.set("time_utc", when(sent.at_us));
    }
    let judged = Judged {
        characteristic: &computed.derived.characteristic,
        value: computed.derived.value,
        verdict: computed.derived.verdict,
        grounds: computed.derived.grounds.as_deref(),
        // It is computed from values that were.
        correction: None,
        ..computed.by
    };
    set_judged(&mut line, ledger, &judged);
    line.set("computed_from", cell(&from.join(" ")));
    line.set("counts", yes_no(true));
    line.set("stands", yes_no(computed.stands));
    // What comes of a reading in doubt is in doubt.
    let mut from = computed.derived.from.iter();
    if let Some(check) = from.find_map(|reading| ledger.suspects.get(reading)) {
        line.set("suspect", suspect(*check));
    }
    line
}

fn observation(ledger: &Ledger<'_>, seq: Seq, sent: &Sent<'_>) -> Line {
    let mut line = Line::new("observation");
    line.set("seq", seq.to_string());
    line.set("time_utc", when(sent.at_us));
    line.set("operator", cell(sent.operator));
    line.set("gauge", cell(sent.observation.gauge.as_str()));
    if let Some(gauge) = sent.gauge {
        line.set("bench", cell(gauge.bench.as_str()));
        line.set("gauge_title", cell(&gauge.title));
        line.set("gauge_serial_number", cell(&gauge.serial_number));
    }
    line.set("via", via(sent.observation.via).to_owned());
    line.set("raw", cell(&printable(&sent.observation.raw)));
    line.set("came", came(sent));
    if let Decoded::Reading(reading) = &sent.observation.decoded {
        set_reading(&mut line, reading);
    }
    if let Some((piece, stage)) = sent.lies {
        line.set("piece", piece.to_string());
        line.set("stage", stage.to_string());
    }
    if let Some(judged) = &sent.counts {
        set_judged(&mut line, ledger, judged);
        let stands = ledger
            .standing
            .get(&(judged.piece, judged.characteristic))
            .is_some_and(|standing| *standing == seq);
        line.set("stands", yes_no(stands));
        if stands {
            line.set("until_it_passed", cell(&until_it_passed(ledger, judged)));
        }
    } else {
        line.set("stands", yes_no(false));
    }
    line.set("counts", yes_no(sent.counts.is_some()));
    if let Some(check) = ledger.suspects.get(&seq) {
        line.set("suspect", suspect(*check));
    }
    let changes: Vec<String> = sent
        .changes
        .iter()
        .map(|&index| change(&ledger.changes[index]))
        .collect();
    line.set("changes", cell(&changes.join("; ")));
    line
}

fn suspect(check: Seq) -> String {
    format!("by the failed check of its gauge, entry {check}")
}

fn set_reading(line: &mut Line, reading: &Reading) {
    line.set("digits", cell(&reading.digits));
    line.set("unit", reading.unit.sign().to_owned());
    set_value(line, reading.value);
}

/// The value judged replaces the one sent: they differ where a person named another unit.
fn set_value(line: &mut Line, value: Quantity) {
    line.set("value", value.to_string());
    set_number(line, ["value_mm", "value_arcsec"], Some(value));
}

/// The same as a number, in the column for lengths or in the one for angles.
fn set_number(line: &mut Line, [mm, arcsec]: [&str; 2], value: Option<Quantity>) {
    let (length, angle) = match value {
        None => (String::new(), String::new()),
        Some(Quantity::Length(length)) => {
            let text = length.to_string();
            (text.trim_end_matches(" mm").to_owned(), String::new())
        }
        // A degree is 3,600,000 of our steps, so decimal degrees would not be exact; seconds are.
        Some(Quantity::Angle(angle)) => (String::new(), thousandths(angle.mas())),
    };
    line.set(mm, length);
    line.set(arcsec, angle);
}

fn set_judged(line: &mut Line, ledger: &Ledger<'_>, judged: &Judged<'_>) {
    set_value(line, judged.value);
    line.set("piece", judged.piece.to_string());
    line.set("characteristic", judged.characteristic.to_string());
    line.set("verdict", judged.verdict.to_string());
    for (column, text) in judged.grounds.map(grounds::cells).into_iter().flatten() {
        line.set(column, cell(&text));
    }
    line.set("revision", judged.revision.to_string());
    let Some(plan) = ledger.plan_of(judged) else {
        return;
    };
    line.set("plan_digest", cell(&plan.digest));
    if let Some(read) = as_read(judged) {
        line.set("as_read", read.to_string());
    }
    if let Some(correction) = judged.correction {
        line.set("correction", cell(&correction.to_string()));
    }
    if let Some(into) = judged.into {
        line.set("tried_in", into.to_string());
    }
    let Some(wanted) = plan.characteristic(judged.characteristic) else {
        return;
    };
    line.set("judged_by", ledger.source(plan, judged.fitted));
    match ledger.moved(judged.fitted, judged.characteristic) {
        Some((_, moved)) => {
            let wanted = Characteristic {
                nominal: moved.nominal,
                limits: moved.limits,
                ..wanted.clone()
            };
            set_wanted(line, plan, judged.piece, &wanted);
        }
        None => set_wanted(line, plan, judged.piece, wanted),
    }
}

fn set_wanted(line: &mut Line, plan: &PartPlan, piece: &PieceId, wanted: &Characteristic) {
    let (lower, upper) = (wanted.limits.lower(), wanted.limits.upper());
    let words = plan.words(&wanted.id, piece.hand());
    let limit = |limit: Option<Quantity>| limit.map_or_else(String::new, |l| l.to_string());
    line.set("stage", wanted.stage.to_string());
    line.set("number", wanted.number.to_string());
    line.set("name", cell(words.map_or(&wanted.name, |words| words.name)));
    line.set("nominal", wanted.nominal.to_string());
    line.set("lower", limit(lower));
    line.set("upper", limit(upper));
    line.set("tolerance", cell(&wanted.tolerance.to_string()));
    set_number(line, ["nominal_mm", "nominal_arcsec"], Some(wanted.nominal));
    set_number(line, ["lower_mm", "lower_arcsec"], lower);
    set_number(line, ["upper_mm", "upper_arcsec"], upper);
}

/// What was concluded when it came.
pub(crate) fn came(sent: &Sent<'_>) -> String {
    match (&sent.observation.decoded, sent.finding) {
        (Decoded::Garbled(why), _) => format!("garbled: {why}"),
        (Decoded::Flood { why, count }, _) => format!("garbled, {count} frames: {why}"),
        (Decoded::Suppressed(none), _) => {
            format!("no reading, {}: {}", frames(none.count), none.why)
        }
        (_, Finding::Judged { verdict, .. }) => format!("judged: {verdict}"),
        (
            _,
            Finding::Checked {
                reference,
                wanted,
                limit,
                verdict,
            },
        ) => format!(
            "gauge checked against {reference} ({wanted}, limit of error {limit}): {verdict}"
        ),
        (
            _,
            Finding::Held {
                reason,
                offset: Some(offset),
                ..
            },
        ) => {
            let before: Vec<String> = offset.readings.iter().map(Seq::to_string).collect();
            let (by, before) = (offset.by, before.join(", "));
            format!("held: {reason} ({by} from the middle of their limits, with entries {before})")
        }
        (_, Finding::Studied { study, cell }) => format!(
            "gauge study of entry {study}: appraiser {}, piece {}, trial {}",
            u16::from(cell.appraiser) + 1,
            u16::from(cell.piece) + 1,
            u16::from(cell.trial) + 1,
        ),
        (_, Finding::Held { reason, .. }) => format!("held: {reason}"),
        (_, Finding::Noted | Finding::Fitted { .. }) => "noted".to_owned(),
    }
}

fn frames(count: u64) -> String {
    let word = if count == 1 { "frame" } else { "frames" };
    format!("{count} {word}")
}

fn change(change: &Change<'_>) -> String {
    let who = if change.operator.is_empty() {
        "nobody named"
    } else {
        change.operator
    };
    let (seq, at) = (change.seq, when(change.at_us));
    let word = change.what.word();
    match &change.what {
        What::Assigned(characteristic, unit, form) => {
            let unit = unit.map(|unit| format!(", its digits read as {unit}"));
            let form = form.map(|form| format!(", understood as {form}"));
            // A sentence goes on after either with a comma.
            let comma = if unit.is_some() || form.is_some() {
                ","
            } else {
                ""
            };
            let (unit, form) = (unit.unwrap_or_default(), form.unwrap_or_default());
            format!("{word} to {characteristic}{unit}{form}{comma} by entry {seq} ({who}, {at})")
        }
        What::Dismissed("") | What::Voided("") => {
            format!("{word} by entry {seq} ({who}, {at})")
        }
        What::Dismissed(reason) | What::Voided(reason) => {
            format!("{word} by entry {seq} ({who}, {at}): {reason}")
        }
    }
}

pub(crate) const fn via(via: Via) -> &'static str {
    match via {
        Via::Serial => "serial",
        Via::Mqtt => "mqtt",
        Via::MqttAgain => "mqtt, sent again",
        Via::Typed => "typed",
    }
}

fn yes_no(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}
