//! A study of a gauge: what was read, and what it says of gauge and hands.

use jiff::tz::TimeZone;
use maud::{Markup, html};
use shared_types::{DisplayUnits, GaugeSetup, Quantity, Setup, Study, StudyCell, Unit};
use trends::study::{self as found, Interaction, Readings, by_ranges, pooled_by_custom};

use super::form::button;
use super::shell;
use super::study::who;
use crate::clock::day_and_time;

/// The page of one study.
pub(crate) fn study(setup: &Setup, gauge: &GaugeSetup, study: &Study, zone: &TimeZone) -> Markup {
    let plan = &study.plan;
    let back = format!("/bench/{}", gauge.bench);
    shell(
        &format!("Study of {}", gauge.title),
        html! {
            main.plain.study {
                p { a href=(back) { "Back to the bench" } }
                h1 { "Study of " (gauge.title) ": " (plan.of) }
                p.soft { "Begun " (day_and_time(study.at_us, zone)) ", entry " (study.seq) ". Measured by " (plan.appraisers.join(", ")) ": " (plan.pieces) " pieces, " (plan.trials) " times each." }
                @match study.table() {
                    Some(table) => (results(setup.units, study, &table)),
                    None => (unfinished(gauge, study)),
                }
                (readings(setup.units, study))
                p.soft { "What a study says of the gauge goes into its uncertainty; it changes no reading, and no verdict that was given." }
            }
        },
        false,
    )
}

fn unfinished(gauge: &GaugeSetup, study: &Study) -> Markup {
    let entry = study.seq.to_string();
    let fields = [
        ("bench", gauge.bench.as_str()),
        ("gauge", gauge.id.as_str()),
        ("resume", entry.as_str()),
    ];
    html! {
        p { strong { (study.done()) " of " (study.plan.size()) " readings are in." } " A study says nothing before it is whole." }
        (button("study-resume", "/api/studies", &fields, "main", &html! { "Go on with it" }))
    }
}

fn results(units: DisplayUnits, study: &Study, table: &[Vec<Vec<Quantity>>]) -> Markup {
    let grains = |cell: &Vec<Quantity>| cell.iter().map(|value| value.raw()).collect();
    let cells = table
        .iter()
        .map(|pieces| pieces.iter().map(grains).collect())
        .collect();
    let both = Readings::new(cells).and_then(|readings| {
        let ranges = by_ranges(&readings)?;
        Ok((ranges, pooled_by_custom(&readings)?))
    });
    html! {
        @if let Some(repeats) = study.repeats() {
            p.what { span { "One hand on one piece scatters by s = " strong { (fine(repeats.sd, units)) } } }
            p { "Pooled over " (study.plan.size() / usize::from(study.plan.trials)) " pieces and hands, " (repeats.freedom) " degrees of freedom. " "It is the gauge's repeatability in its uncertainty, until a later study." }
        }
        @match both {
            Ok((ranges, (interaction, variance))) => (compared(units, study, table[0][0][0], &ranges, interaction, &variance)),
            Err(_) if study.plan.appraisers.len() < 2 => {
                p { "One person measured alone: what another hand would make of it is not known. Two or more people tell." }
            }
            Err(error) => { p { "More cannot be said: " (error) "." } }
        }
    }
}

/// What a line of the table is, and where it stands in a study.
type Row = (&'static str, fn(&found::Study) -> f64);

fn compared(
    units: DisplayUnits,
    study: &Study,
    like: Quantity,
    ranges: &found::Study,
    interaction: Interaction,
    variance: &found::Variance,
) -> Markup {
    let by_variance = &variance.study;
    let sd = |value: f64| {
        trends::quantity(value, like).map_or_else(|| "–".to_owned(), |q| fine(q, units))
    };
    let width = study.plan.width.map(Quantity::raw);
    let rows: [Row; 6] = [
        ("repeatability: one hand, one piece, again (EV)", |s| {
            s.repeatability
        }),
        ("reproducibility: another hand (AV)", |s| s.reproducibility),
        ("hands that differ on some pieces more", |s| s.interaction),
        ("gauge and hands together (GRR)", found::Study::gauge),
        ("the pieces (PV)", |s| s.pieces),
        ("all there is (TV)", found::Study::total),
    ];
    html! {
        div.wide { table {
            thead { tr { th { "Standard deviation of" } th { "by ranges" } th { "by variance" } } }
            tbody {
                @for (name, of) in rows {
                    tr { td { (name) } td.n { (sd(of(ranges))) } td.n { (sd(of(by_variance))) } }
                }
                tr { td { "GRR of all there is" } td.n { (percent(ranges.percent_of_total())) } td.n { (percent(by_variance.percent_of_total())) } }
                @if let Some(width) = width {
                    tr { td { "6 GRR of the tolerance" } td.n { (percent(ranges.percent_of_tolerance(width))) } td.n { (percent(by_variance.percent_of_tolerance(width))) } }
                }
                tr { td { "classes of such pieces it tells apart (ndc)" } td.n { (classes(ranges)) } td.n { (classes(by_variance)) } }
            }
        } }
        p { (match interaction {
            Interaction::Kept => "Hands differ on some pieces more than on others, beyond what chance would give, so that is counted as a part of its own.",
            Interaction::Pooled => "Hands do not differ on some pieces more than on others beyond what chance would give; that is counted with repeatability.",
        }) }
        p.soft { "By custom (AIAG's manual, from memory): GRR below 10 % is good, above 30 % too much for the purpose; five classes or more. The two ways differ a little: ranges see no interaction." }
    }
}

fn classes(study: &found::Study) -> String {
    let ndc = study.distinct_classes();
    if ndc.is_finite() {
        format!("{ndc:.0}")
    } else {
        "no scatter in the gauge".to_owned()
    }
}

fn percent(value: f64) -> String {
    if value.is_finite() {
        format!("{value:.1} %")
    } else {
        "–".to_owned()
    }
}

/// One place more than a gauge shows: a standard deviation is often less than its step.
fn fine(quantity: Quantity, units: DisplayUnits) -> String {
    match (quantity, units) {
        (Quantity::Length(length), DisplayUnits::Mm) => {
            format!("{} mm", length.rounded(Unit::Millimetre, 4))
        }
        (Quantity::Length(length), DisplayUnits::In | DisplayUnits::InFractions) => {
            format!("{} in", length.rounded(Unit::Inch, 5))
        }
        (Quantity::Angle(angle), _) => format!("{}°", angle.degrees(4)),
    }
}

fn readings(units: DisplayUnits, study: &Study) -> Markup {
    let plan = &study.plan;
    let appraisers = u8::try_from(plan.appraisers.len()).unwrap_or(u8::MAX);
    let at = |appraiser, piece, trial| StudyCell {
        appraiser,
        piece,
        trial,
    };
    html! {
        h2 { "Readings" }
        div.wide { table {
            thead { tr { th { "Who" } th { "Piece" } @for trial in 0..plan.trials { th { "Time " (u16::from(trial) + 1) } } } }
            tbody {
                @for appraiser in 0..appraisers { @for piece in 0..plan.pieces {
                    tr {
                        td { (who(plan, at(appraiser, piece, 0))) }
                        td.n { (u16::from(piece) + 1) }
                        @for trial in 0..plan.trials {
                            td.n {
                                @if let Some((seq, value)) = study.at(at(appraiser, piece, trial)) {
                                    span title={ "entry " (seq) } { (shared_types::show(value, units)) }
                                } @else { "–" }
                            }
                        }
                    }
                } }
            }
        } }
        p.soft { "A reading that was a slip is voided on the bench while it is the last one, or by its entry's number; it is then asked for again." }
    }
}
