//! The last thing a gauge of this bench sent, large enough for two metres, and what became of it.

use maud::{Markup, html};
use shared_types::{
    Became, Characteristic, CharacteristicId, Correction, DerivedFinding, Garbled, Grounds, Last,
    PieceId, Quantity, Seq, Shown, Verdict, printable, show, show_excess,
};

use super::correct::not_that;
use super::form::button;
use super::glyph::{Shape, jaws};
use super::grounds;
use super::held::choices;
use super::scale::scale;
use super::scene::{Scene, numbered};
use super::trust::no_check;
use crate::clock::time_of_day;

pub(super) fn last(scene: &Scene<'_>) -> Markup {
    let Some(last) = &scene.bench.last else {
        return waiting(scene);
    };
    match &last.became {
        Became::Judged {
            characteristic,
            revision,
            value,
            verdict,
            piece,
            fitted,
            derived,
            correction,
            grounds,
        } => {
            let by = judged_by(scene, last.seq, piece, characteristic, (*revision, *fitted));
            let at_20 = correction
                .as_ref()
                .map(|correction| at_20(scene, correction));
            judged(
                scene,
                last,
                characteristic,
                by,
                (*value, *verdict),
                (derived, at_20, grounds.as_deref()),
            )
        }
        Became::Held(reason) => {
            let word = "held";
            let advice = sentence(&reason.to_string());
            let more = scene.bench.held.get(&last.seq).map(|held| {
                html! {
                    (choices(scene, last.seq, held, "last"))
                }
            });
            other(scene, last, Shape::Held, word, &advice, more.as_ref())
        }
        Became::Checked {
            reference,
            wanted,
            limit,
            verdict,
        } => {
            let (word, advice) = checked(last, reference, (*wanted, *limit), *verdict);
            let void = no_check(scene, last.seq, "last");
            other(
                scene,
                last,
                Shape::Judged(*verdict),
                word,
                &advice,
                Some(&void),
            )
        }
        Became::Studied { cell, .. } => {
            let advice = format!(
                "Piece {}, time {}. It is of a study of the gauge, and of no piece of the build.",
                u16::from(cell.piece) + 1,
                u16::from(cell.trial) + 1,
            );
            let void = slip(scene, last.seq);
            other(
                scene,
                last,
                Shape::Studied,
                "for the study",
                &advice,
                Some(&void),
            )
        }
        Became::Dismissed => other(
            scene,
            last,
            Shape::Gone,
            "dismissed",
            "A person said it is of nothing. It stays in the history.",
            None,
        ),
        Became::Voided => other(
            scene,
            last,
            Shape::Gone,
            "voided",
            "A person said it does not count. It stays in the history.",
            None,
        ),
        Became::Garbled(why, raw) => {
            let mut gauges = scene.gauges();
            let typed = gauges.any(|gauge| gauge.id == last.gauge && gauge.kind.is_none());
            let advice = match (why, typed) {
                (_, true) => "This cannot be read as a number with its unit. Type it as 12.34 mm, 11 1/4 in or 90 deg.".to_owned(),
                (Garbled::Grammar, false) => "Not a reading: this is not how the gauge writes a number. Measure again.".to_owned(),
                (why, false) => format!("Not a reading: {why}. Measure again."),
            };
            // A gauge that was asked and kept silent sent nothing to show.
            let sent = (!raw.is_empty())
                .then(|| html! { p.sent { "it sent " code { (printable(raw)) } } });
            other(
                scene,
                last,
                Shape::Garbled,
                "garbled",
                &advice,
                sent.as_ref(),
            )
        }
    }
}

/// A reading of a study that does not count is asked for again.
fn slip(scene: &Scene<'_>, seq: Seq) -> Markup {
    let reading = seq.to_string();
    let fields = [
        ("bench", scene.id.as_str()),
        ("reading", reading.as_str()),
        ("reason", "a slip"),
    ];
    button(
        "study-slip",
        "/api/voids",
        &fields,
        "",
        &html! { "That was a slip: ask again" },
    )
}

/// A check of the gauge, and how far it was off: told to the last digit, and never corrected.
fn checked(
    last: &Last,
    reference: &str,
    (wanted, limit): (Quantity, Quantity),
    verdict: Verdict,
) -> (&'static str, String) {
    let value = last.reading.as_ref().map(|reading| reading.value);
    let off = value.and_then(|value| value.minus(wanted));
    let off = off.map_or_else(String::new, |off| off.to_string());
    let at = if wanted.raw() == 0 {
        "Zero check".to_owned()
    } else {
        format!("Checked against {reference}, {wanted}")
    };
    let (word, todo) = match verdict {
        Verdict::Pass => ("gauge right", ""),
        Verdict::TooSmall => (
            "gauge shows too small",
            " Clean it, set it, and check it again.",
        ),
        Verdict::Undecided => ("undecided", ""),
        Verdict::TooLarge => (
            "gauge shows too large",
            " Clean it, set it, and check it again.",
        ),
    };
    (word, format!("{at}: off by {off}, may be {limit}.{todo}"))
}

/// Nothing yet: the jaws stand open, and it says what makes a number appear.
fn waiting(scene: &Scene<'_>) -> Markup {
    let speaks = scene.gauges().any(|gauge| gauge.kind.is_some());
    html! {
        section.last #s-last aria-label="last reading" data-said="" {
            h2.rule { span { "Waiting for a reading" } }
            div.none { (jaws(Shape::Nothing)) }
            p.alt {
                @match (scene.work.is_some(), speaks) {
                    (false, _) => "Lay a piece down first.",
                    (true, true) => "Measure, then press send on the gauge.",
                    (true, false) => "Measure, then type the number below.",
                }
            }
        }
    }
}

/// The characteristic, where its limits now are the ones it was judged by.
fn judged_by<'a>(
    scene: &Scene<'a>,
    reading: Seq,
    piece: &PieceId,
    id: &CharacteristicId,
    (revision, fitted): (Seq, Option<Seq>),
) -> Option<&'a Characteristic> {
    let work = scene.work.filter(|work| work.piece == piece)?;
    let stands = work.standing(id).is_some_and(|a| a.seq == reading);
    if stands {
        // A new revision may have left these limits alone.
        let outdated = scene.shop.outdated(piece);
        let is_outdated = outdated.iter().any(|o| &o.characteristic == id);
        return scene.characteristic(id).filter(|_| !is_outdated);
    }
    let work = Some(work).filter(|work| work.adopted.seq == revision)?;
    let planned = work.adopted.plan.characteristic(id)?;
    let (_, moved) = scene.shop.wanted(piece, scene.shop.mate(piece), planned);
    scene.characteristic(id).filter(|_| moved == fitted)
}

fn judged(
    scene: &Scene<'_>,
    last: &Last,
    id: &CharacteristicId,
    by: Option<&Characteristic>,
    (value, verdict): (Quantity, Verdict),
    (derived, at_20, grounds): (&[DerivedFinding], Option<String>, Option<&Grounds>),
) -> Markup {
    let shape = Shape::Judged(verdict);
    let characteristic = scene.characteristic(id);
    let name = characteristic.map_or_else(|| id.to_string(), numbered);
    let advice = by.map_or_else(
        || "It was judged by other limits than those in force now.".to_owned(),
        |c| advice(scene, c, value, verdict),
    );
    let shown = show(value, scene.units());
    let completed: Vec<String> = derived.iter().map(|d| completed(scene, d)).collect();
    let open = grounds::undecided(grounds, verdict);
    let chance = grounds.map_or_else(String::new, |g| grounds::chance(scene, g));
    let said = format!(
        "{name}: {shown}, {verdict}. {advice}{open}{}",
        completed.concat()
    );
    html! {
        section.last.(shape.class()) #s-last aria-label="last reading" data-said=(said) {
            h2.rule { span { "Measured: " (name) } }
            (number(&shown))
            (beside(scene, last, Some(value)))
            @if let Some(at_20) = &at_20 { p.alt { (at_20) } }
            (verdict_line(shape, verdict.words()))
            @if !chance.is_empty() { p.chance { (chance) } }
            @if !open.is_empty() { p.advice { (open) } }
            @if !advice.is_empty() { p.advice { (advice) } }
            @for completed in &completed { p.advice { (completed) } }
            div.check {
                @if let Some(c) = by { (scale(scene, c, (value, verdict), grounds)) }
                (not_that(scene, last.seq, id, characteristic))
            }
        }
    }
}

/// The value as read beside the one at 20 °C that was judged; or why there is none.
fn at_20(scene: &Scene<'_>, correction: &Correction) -> String {
    match correction {
        Correction::Made { read, piece, gauge } => format!(
            "at 20 °C; read as {}, piece {}, gauge {}",
            scene.shown(Quantity::Length(*read)),
            piece.temperature,
            gauge.temperature
        ),
        Correction::Not(why) => format!("as read, not at 20 °C: {why}"),
    }
}

/// What the reading completed, as a sentence.
fn completed(scene: &Scene<'_>, derived: &DerivedFinding) -> String {
    let c = scene.characteristic(&derived.characteristic);
    let name = c.map_or_else(|| derived.characteristic.to_string(), numbered);
    let (value, verdict) = (scene.shown(derived.value), derived.verdict);
    let todo = c.map_or("", |c| match verdict {
        Verdict::Pass | Verdict::Undecided => "",
        Verdict::TooSmall => c.if_small.as_str(),
        Verdict::TooLarge => c.if_large.as_str(),
    });
    let open = grounds::undecided(derived.grounds.as_deref(), verdict);
    format!("Completes {name}: {value}, {verdict}. {todo}{open}")
        .trim_end()
        .to_owned()
}

/// `0.53 mm over its limit. Trim it down at the trim stage.`
fn advice(scene: &Scene<'_>, c: &Characteristic, value: Quantity, verdict: Verdict) -> String {
    let (limit, way, todo) = match verdict {
        Verdict::Pass | Verdict::Undecided => return String::new(),
        Verdict::TooSmall => (c.limits.lower(), "under", &c.if_small),
        Verdict::TooLarge => (c.limits.upper(), "over", &c.if_large),
    };
    let excess = limit.and_then(|limit| show_excess(value, limit, scene.units()));
    match excess {
        Some(excess) => format!("{excess} {way} its limit. {todo}"),
        None => todo.clone(),
    }
}

fn other(
    scene: &Scene<'_>,
    last: &Last,
    shape: Shape,
    word: &str,
    advice: &str,
    more: Option<&Markup>,
) -> Markup {
    let value = last.reading.as_ref().map(|reading| reading.value);
    let shown = value.map(|value| show(value, scene.units()));
    let said = match &shown {
        Some(shown) => format!("{shown}, {word}. {advice}"),
        None => format!("{word}. {advice}"),
    };
    html! {
        section.last.(shape.class()) #s-last aria-label="last reading" data-said=(said) {
            h2.rule { span { "Last reading" } }
            @if let Some(shown) = &shown { (number(shown)) }
            (beside(scene, last, value))
            (verdict_line(shape, word))
            p.advice { (advice) }
            @if let Some(more) = more { (more) }
        }
    }
}

/// The number as wide as the column allows: its class says how many characters it has, and the style
/// sheet sets the size by that, so that it never runs over.
fn number(shown: &Shown) -> Markup {
    let wide = shown.number.chars().count() + shown.unit.chars().count();
    let class = format!("n{}", wide.clamp(4, 18));
    html! {
        p.number.(class) {
            span.digits { (shown.number) }
            span.unit { (shown.unit) }
        }
    }
}

/// The other unit, the gauge and the time.
fn beside(scene: &Scene<'_>, last: &Last, value: Option<Quantity>) -> Markup {
    html! {
        p.alt {
            @if let Some(other) = value.and_then(|value| scene.other(value)) { b { (other) } " · " }
            (scene.gauge_title(&last.gauge)) " · "
            time { (time_of_day(last.at_us, scene.zone)) }
        }
    }
}

/// A reason as a sentence of its own.
pub(super) fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        format!("{}{}.", first.to_uppercase(), letters.as_str())
    })
}

fn verdict_line(shape: Shape, word: &str) -> Markup {
    html! { p.verdict { (jaws(shape)) strong { (word) } } }
}
