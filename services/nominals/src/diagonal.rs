//! The diagonals of a rectangle: whether it is square shows in their being alike.
//!
//! Each is a dimension of its own with its own limits. Their difference is computed from readings; how large it
//! may be is said in `derived`.

use shared_types::{Dimension, Length, Stage};

use crate::draft::{Draft, Nominal, mm};
use crate::form::At;
use crate::hand::{LEFT, RIGHT};
use crate::measure::Measure;
use crate::pen::linear;

/// From bottom left to top right, and from top left to bottom right.
const WAYS: [(&str, [&str; 4]); 2] = [
    ("rising", ["bottom ", LEFT, " to top ", RIGHT]),
    ("falling", ["top ", LEFT, " to bottom ", RIGHT]),
];

/// Both diagonals of a rectangle `flat` wide and high, shortened by relief holes at its corners.
pub(crate) fn diagonals(
    stage: Stage,
    flat: [Measure; 2],
    relief: Option<Length>,
    at: At,
) -> Vec<Draft> {
    let [w, h] = flat;
    let whole = Measure::computed(w.pm().hypot(h.pm()));
    let (nominal, less) = match relief {
        Some(diameter) => (
            whole - Measure::exact(diameter),
            format!(
                ", less the diameter {} of a relief hole, half at each end",
                mm(diameter.into())
            ),
        ),
        None => (whole, String::new()),
    };
    let (place, over) = match relief {
        Some(_) => (
            "over the web, the tips of the outside jaws in the two opposite relief holes",
            "web",
        ),
        None => (
            "tips of the outside jaws over the two opposite corners",
            "sheet",
        ),
    };
    WAYS.into_iter()
        .map(|(id, words)| (id, words.concat()))
        .map(|(id, words)| Draft {
            id: format!("{stage}.diagonal.{id}"),
            name: format!("diagonal of the {over}, {words}"),
            stage,
            nominal: Nominal::Length(nominal),
            rule: format!("√(w² + h²), w {}, h {}{less}", mm(w), mm(h)),
            how: format!("From {words}: {place}. The two diagonals should be alike."),
            if_small:
                "Compare it with the other diagonal: if that is longer, the part is out of square."
                    .into(),
            if_large:
                "Compare it with the other diagonal: if that is shorter, the part is out of square."
                    .into(),
            own: None,
            at,
        })
        .collect()
}

/// Both drawn. `corners` by left and right, then bottom and top; `short` is kept off at each end.
pub(crate) fn dimensions(
    stage: Stage,
    [left, right]: [[[f64; 2]; 2]; 2],
    short: f64,
) -> [Option<Dimension>; 2] {
    let between = |id: &str, from: [f64; 2], to: [f64; 2]| {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let long = dx.hypot(dy);
        let off = [short * dx / long, short * dy / long];
        linear(
            &format!("{stage}.diagonal.{id}"),
            [from[0] + off[0], from[1] + off[1]],
            [to[0] - off[0], to[1] - off[1]],
            0.0,
        )
    };
    [
        between(WAYS[0].0, left[0], right[1]),
        between(WAYS[1].0, left[1], right[0]),
    ]
}
