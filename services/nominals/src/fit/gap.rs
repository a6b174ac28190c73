//! The gaps round a part once it is in: stations along its edges, each with its limits.

use shared_types::{Layer, Length, Limits, Quantity, Stage, Stroke, StrokeShape, View};

use super::Fitted;
use crate::contour::Piece;
use crate::draft::{Draft, Nominal, mm};
use crate::form::{At, Table};
use crate::hand::{LEFT, RIGHT};
use crate::measure::Measure;
use crate::part::dimension;
use crate::pen::{length, linear};
use crate::polygon::Polygon;

/// Most stations of an edge: more than one every hand's breadth says nothing more.
const STATIONS_MAX: i64 = 50;

/// An opening is drawn at least this part of the part's larger side away, so that the gap shows.
const GAP_DRAWN_MIN: f64 = 0.02;

/// An edge of a part as it stands in what it goes into.
#[derive(Clone, Debug)]
pub(crate) struct Rim {
    /// As the file and ids name it: `left`, or the edge's number.
    pub(crate) key: String,
    /// As sentences name it.
    pub(crate) words: String,
    /// Along which distances run.
    pub(crate) piece: Piece,
    /// Whether outside is to the right of its way.
    pub(crate) outside_right: bool,
    /// Whether it only rounds a corner: gaps all round are not measured there unless it is named.
    pub(crate) rounding: bool,
}

impl Rim {
    fn long(&self) -> f64 {
        self.piece.length()
    }

    fn right(&self, out: f64) -> f64 {
        if self.outside_right { out } else { -out }
    }

    fn place(&self, along: f64, out: f64) -> [f64; 2] {
        let part = along / self.long();
        let (at, right) = (self.piece.at(part), self.piece.right(part));
        [0, 1].map(|axis| at[axis] + self.right(out) * right[axis])
    }

    /// The edge, or what lies so far outside it.
    fn stroke(&self, out: f64) -> Option<StrokeShape> {
        Some(self.piece.moved(self.right(out))?.stroke())
    }
}

/// The edges of a rectangle.
pub(crate) fn rectangle([width, height]: [f64; 2]) -> Vec<Rim> {
    let side = |key: &str, word: &str, from: [f64; 2], to: [f64; 2], outside_right: bool| Rim {
        key: key.to_owned(),
        words: format!("the {word} edge"),
        piece: Piece::Line { from, to },
        outside_right,
        rounding: false,
    };
    let (origin, right, top) = ([0.0, 0.0], [width, 0.0], [0.0, height]);
    let far = [width, height];
    vec![
        side("left", LEFT, origin, top, false),
        side("right", RIGHT, right, far, true),
        side("bottom", "bottom", origin, right, true),
        side("top", "top", top, far, false),
    ]
}

/// The edges of an outline of corners, by their numbers from 1.
pub(crate) fn polygon(polygon: &Polygon) -> Vec<Rim> {
    let edges = 0..polygon.count();
    edges
        .map(|edge| {
            let [from, to] = polygon.edge(edge);
            Rim {
                key: (edge + 1).to_string(),
                words: polygon.edge_name(edge),
                piece: Piece::Line { from, to },
                outside_right: polygon.is_counter_clockwise(),
                rounding: false,
            }
        })
        .collect()
}

/// One `[[fit.gap]]`.
pub(super) struct Asked {
    /// As the file names them; none are all.
    edges: Vec<(String, At)>,
    stations: Stations,
    names: Option<Vec<(String, At)>>,
    smallest: Option<Length>,
    largest: Length,
    at: At,
}

enum Stations {
    Shared(i64),
    At(Vec<(Length, At)>),
}

impl Stations {
    fn count(&self) -> usize {
        match self {
            Self::Shared(count) => usize::try_from(*count).unwrap_or_default(),
            Self::At(places) => places.len(),
        }
    }
}

/// Reads all `[[fit.gap]]`; nothing where one of them is wrong.
pub(super) fn read(table: &Table<'_>, clearance: Option<Length>) -> Option<Vec<Asked>> {
    let tables = table.may("gap").tables();
    let read: Vec<Option<Asked>> = tables.iter().map(|table| one(table, clearance)).collect();
    read.into_iter().collect()
}

/// A gap may be nothing, which is also what it is where this is left out.
fn smallest(table: &Table<'_>) -> Option<Length> {
    let found = table.may("smallest").length()?;
    if found < Length::ZERO {
        table.wrong("smallest", format!("found {found}, expected 0 mm or more"));
        return None;
    }
    Some(found)
}

fn one(table: &Table<'_>, clearance: Option<Length>) -> Option<Asked> {
    table.only(&["edges", "count", "at", "names", "largest", "smallest"]);
    let edges = table.may("edges").edge_names();
    let stations = stations(table);
    let names = table.may("names").texts();
    let largest = dimension(table, "largest", true);
    let smallest = smallest(table);
    let (stations, largest, clearance) = (stations?, largest?, clearance?);
    if let Some(names) = &names
        && names.len() != stations.count()
    {
        let what = format!(
            "found {}, expected one for each of {} stations",
            names.len(),
            stations.count()
        );
        table.wrong("names", what);
        return None;
    }
    if clearance > largest {
        let what = format!("found {largest}, expected at least the clearance wanted, {clearance}");
        table.wrong("largest", what);
        return None;
    }
    if let Some(smallest) = smallest.filter(|smallest| *smallest > clearance) {
        let what = format!("found {smallest}, expected at most the clearance wanted, {clearance}");
        table.wrong("smallest", what);
        return None;
    }
    let whole = |read: bool, key: &str| read == table.has(key);
    if !whole(edges.is_some(), "edges")
        || !whole(names.is_some(), "names")
        || !whole(smallest.is_some(), "smallest")
    {
        return None;
    }
    Some(Asked {
        edges: edges.unwrap_or_default(),
        stations,
        names,
        smallest,
        largest,
        at: table.at(),
    })
}

fn stations(table: &Table<'_>) -> Option<Stations> {
    if table.has("at") {
        if table.has("count") {
            table.wrong("count", "found it beside at, expected one of both");
            return None;
        }
        let places = table.need("at").lengths()?;
        if places.is_empty() || i64::try_from(places.len()).ok()? > STATIONS_MAX {
            let what = format!(
                "found {}, expected 1 to {STATIONS_MAX} places",
                places.len()
            );
            table.wrong("at", what);
            return None;
        }
        return Some(Stations::At(places));
    }
    if !table.has("count") {
        table.missing_any(format!(
            "{}: nothing says where to measure, expected count or at",
            table.path()
        ));
        return None;
    }
    table
        .need("count")
        .integer(1..=STATIONS_MAX)
        .map(Stations::Shared)
}

/// All gap stations of a part and their view; nothing where a contradiction has been told.
pub(crate) fn gaps(
    fitted: &Fitted,
    rims: &[Rim],
    root: &Table<'_>,
) -> Option<(Vec<Draft>, Option<View>)> {
    if fitted.gaps.is_empty() {
        return Some((Vec::new(), None));
    }
    if rims.is_empty() {
        root.tell(
            fitted.at,
            "fit.gap: found gap stations, expected them only for a panel or a plate, whose edges are known",
        );
        return None;
    }
    let size = rims.iter().map(Rim::long).fold(0.0, f64::max);
    let out = (fitted.fit.clearance.pm() as f64).max(GAP_DRAWN_MIN * size);
    let (mut drafts, mut dimensions) = (Vec::new(), Vec::new());
    let mut sound = true;
    for asked in &fitted.gaps {
        let Some(edges) = edges(asked, rims, root) else {
            sound = false;
            continue;
        };
        for rim in edges {
            // A second table for an edge goes on counting.
            let begin = format!("fit-up.gap.{}.", rim.key);
            let before = drafts
                .iter()
                .filter(|draft: &&Draft| draft.id.starts_with(&begin))
                .count();
            let Some(places) = places(asked, rim, root) else {
                sound = false;
                continue;
            };
            for (index, along) in places.into_iter().enumerate() {
                let id = format!("{begin}{}", before + index + 1);
                dimensions.push(linear(
                    &id,
                    rim.place(along, 0.0),
                    rim.place(along, out),
                    0.0,
                ));
                drafts.push(draft(fitted, asked, rim, (index, along), id));
            }
        }
    }
    let mut strokes: Vec<Stroke> = Vec::new();
    for rim in rims {
        for (layer, far) in [(Layer::Cut, 0.0), (Layer::Hidden, out)] {
            let shape = rim.stroke(far);
            strokes.extend(shape.map(|shape| Stroke { layer, shape }));
        }
    }
    let view = View {
        stage: Stage::FitUp,
        title: format!("in {}, the gap drawn wide", fitted.fit.into),
        strokes,
        dimensions: dimensions.into_iter().flatten().collect(),
    };
    sound.then_some((drafts, Some(view)))
}

fn edges<'r>(asked: &Asked, rims: &'r [Rim], root: &Table<'_>) -> Option<Vec<&'r Rim>> {
    if asked.edges.is_empty() {
        return Some(rims.iter().filter(|rim| !rim.rounding).collect());
    }
    let mut found = Vec::new();
    for (key, at) in &asked.edges {
        match rims.iter().find(|rim| rim.key == *key) {
            Some(rim) => found.push(rim),
            None => {
                let known: Vec<&str> = rims.iter().map(|rim| rim.key.as_str()).collect();
                root.tell(
                    *at,
                    format!(
                        "fit.gap.edges: found {key}, expected one of {}",
                        known.join(", ")
                    ),
                );
            }
        }
    }
    (found.len() == asked.edges.len()).then_some(found)
}

/// How far along an edge each station lies.
fn places(asked: &Asked, rim: &Rim, root: &Table<'_>) -> Option<Vec<f64>> {
    match &asked.stations {
        Stations::Shared(count) => {
            let share = rim.long() / *count as f64;
            Some((0..*count).map(|n| (n as f64 + 0.5) * share).collect())
        }
        Stations::At(places) => {
            let mut sound = true;
            for (place, at) in places {
                if *place < Length::ZERO || place.pm() as f64 > rim.long() {
                    let what = format!(
                        "fit.gap.at: found {place}, expected 0 mm to {}, the length of {}",
                        mm(Measure::computed(rim.long())),
                        rim.words
                    );
                    root.tell(*at, what);
                    sound = false;
                }
            }
            sound.then(|| places.iter().map(|(place, _)| place.pm() as f64).collect())
        }
    }
}

fn draft(
    fitted: &Fitted,
    asked: &Asked,
    rim: &Rim,
    (index, along): (usize, f64),
    id: String,
) -> Draft {
    let station = match asked.names.as_ref().and_then(|names| names.get(index)) {
        Some((name, _)) => name.clone(),
        None => format!("station {} of {}", index + 1, asked.stations.count()),
    };
    let Fitted { fit, at, .. } = fitted;
    let lower = Quantity::Length(asked.smallest.unwrap_or(Length::ZERO));
    Draft {
        id,
        name: format!("gap at {}, {station}", rim.words),
        stage: Stage::FitUp,
        nominal: Nominal::Gap(fit.clearance),
        rule: format!(
            "the clearance on each side in {}; {} along the edge of {}",
            fit.into,
            mm(Measure::computed(length(along).pm() as f64)),
            mm(Measure::computed(rim.long()))
        ),
        how: format!(
            "The piece in place in {}: the thickest feeler gauge that goes in at {}, {station}, typed; or the caliper's \
             depth rod or steps where it is wide enough.",
            fit.into, rim.words
        ),
        if_small: "Dress the edge down there until it clears.".into(),
        if_large: "See whether the piece sits askew; a gap cannot be filled by forming: ask what the plan allows.".into(),
        own: Limits::new(Some(lower), Some(Quantity::Length(asked.largest))).ok(),
        at: if asked.edges.is_empty() { *at } else { asked.at },
    }
}
