//! How warm piece and gauge are, and the way to say so.

use maud::{Markup, html};
use shared_types::{Climate, Felt, TemperatureOf};

use super::scene::Scene;
use crate::clock::day_and_time;

pub(super) fn warm(scene: &Scene<'_>) -> Markup {
    let climate = scene.setup.climate;
    let known = &scene.bench.temperatures;
    let piece = known.of_piece(scene.now_us, &climate);
    let gauge = known.of_gauge(scene.now_us, &climate);
    // Asked for and not possible: whoever measures now should know it before the first reading.
    let lacking = climate.correct && (piece.is_none() || gauge.is_none());
    html! {
        section.warm #s-warm aria-label="temperature" {
            @if lacking { p.late { "Lengths are not corrected to 20 °C until the temperature is given." } }
            details.more #temperature open[lacking] {
                summary { "Temperature: " (summary(piece, gauge)) }
                @if climate.correct { p { "Lengths are corrected to 20 °C by it." } }
                @else { p { "Lengths are judged as read; the temperature goes into their uncertainty." } }
                dl {
                    @if let Some(felt) = piece { dt { "piece" } dd { (said(scene, felt, &climate)) } }
                    @if let Some(felt) = gauge { dt { "gauge" } dd { (said(scene, felt, &climate)) } }
                }
                form.row action="/api/temperatures" method="post" autocomplete="off" {
                    input type="hidden" name="bench" value=(scene.id);
                    label for="warm" { "It is" }
                    input #warm type="text" name="temperature" required maxlength="20" placeholder="as 21.5 C or 70 F" enterkeyhint="send" spellcheck="false" autocapitalize="off";
                    select #warm-of name="of" aria-label="of what" {
                        @for (of, words) in [
                            (TemperatureOf::Both, "piece and gauge"),
                            (TemperatureOf::Piece, "this piece alone"),
                            (TemperatureOf::Gauge, "the gauges alone"),
                        ] { option value=(of.word()) { (words) } }
                    }
                    button #warm-send type="submit" { "Record it" }
                }
            }
        }
    }
}

fn summary(piece: Option<&Felt>, gauge: Option<&Felt>) -> String {
    let said = |felt: Option<&Felt>| {
        felt.map_or_else(|| "not known".to_owned(), |felt| felt.value.to_string())
    };
    match (piece, gauge) {
        (None, None) => said(None),
        (Some(one), Some(other)) if one.seq == other.seq => said(piece),
        _ => format!("piece {}, gauge {}", said(piece), said(gauge)),
    }
}

/// `21.5 °C, typed 2026-11-25 10:41, entry 7; holds until 2026-11-25 18:41`. It needs no clock to stay right.
fn said(scene: &Scene<'_>, felt: &Felt, climate: &Climate) -> String {
    let (by, holds_s) = match &felt.sensor {
        Some(sensor) => (format!("sensor {sensor}"), climate.sensor_holds_s),
        None => ("typed".to_owned(), climate.typed_holds_s),
    };
    let until_us = felt.at_us.saturating_add(i64::from(holds_s) * 1_000_000);
    format!(
        "{}, {by} {}, entry {}; holds until {}",
        felt.value,
        day_and_time(felt.at_us, scene.zone),
        felt.seq,
        day_and_time(until_us, scene.zone)
    )
}
