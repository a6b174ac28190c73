//! What a verdict rests on, as cells of the record.

use shared_types::{Chance, Grounds, Lacking, Limits, Quantity};

/// The columns these fill, in order.
pub(crate) const COLUMNS: [&str; 9] = [
    "rule",
    "uncertainty",
    "uncertainty_parts",
    "accept_lower",
    "accept_upper",
    "chance",
    "chance_1e15",
    "judged_mean",
    "undecided_because",
];

/// The text of each column. `chance_1e15` counts the smaller of within and outside, in 10⁻¹⁵, with which it is.
pub(crate) fn cells(grounds: &Grounds) -> [(&'static str, String); COLUMNS.len()] {
    let known = grounds.uncertainty.as_ref();
    let parts = known.map_or_else(Vec::new, |known| {
        let parts = known.parts.iter();
        parts
            .map(|part| format!("{} {} ({})", part.name, part.standard, part.spread.word()))
            .collect()
    });
    let end = |of: fn(&Limits) -> Option<Quantity>| {
        let end = grounds.accept.as_ref().and_then(of);
        end.map_or_else(String::new, |end| end.to_string())
    };
    let mean = grounds.mean.as_ref().map_or_else(String::new, |mean| {
        let of: Vec<String> = mean.of.iter().map(ToString::to_string).collect();
        format!("{} of entries {}", mean.value, of.join(" "))
    });
    let texts = [
        grounds.rule.to_string(),
        known.map_or_else(String::new, |known| known.standard.to_string()),
        parts.join("; "),
        end(Limits::lower),
        end(Limits::upper),
        grounds.chance.map_or_else(String::new, Chance::words),
        grounds
            .chance
            .map_or_else(String::new, |chance| match chance {
                Chance::Outside(n) => format!("outside {n}"),
                Chance::Within(n) => format!("within {n}"),
            }),
        mean,
        grounds.lacking.map_or_else(String::new, lacking),
    ];
    let mut texts = texts.into_iter();
    COLUMNS.map(|column| (column, texts.next().expect("as many texts as columns")))
}

fn lacking(lacking: Lacking) -> String {
    match lacking {
        Lacking::Uncertainty => "nothing is known of the gauge's uncertainty there".to_owned(),
        Lacking::NoneCanPass => "the gauge is too coarse for any reading to pass".to_owned(),
        Lacking::TooCoarse(tenths) => {
            format!("the gauge has {}.{} to 1 only", tenths / 10, tenths % 10)
        }
        Lacking::OneLimit => "one limit only, and a ratio needs two".to_owned(),
    }
}
