//! The form block laid out: its face, and below it a section through each edge with radius and bevel.

use std::cmp::Ordering;

use shared_types::{Angle, DisplayUnits, Layer, PartPlan, Quantity, Stage, View, show};

use super::canvas::{Anchor, Canvas, Words, point};
use super::ink::Ink;
use super::measured::{VALUE, degrees};
use crate::frame::Bounds;

/// Between two drawings.
const APART: f64 = 14.0;
/// From one line of text to the next, in sizes.
const LEADING: f64 = 1.45;

/// One block for the flanges of either way.
const NAMES: [&str; 2] = ["blocks", "blocks-2"];

/// A sheet for each block: a face, and the sections that follow it in the plan.
pub(super) fn canvases(plan: &PartPlan, units: DisplayUnits) -> Vec<Canvas> {
    let views: Vec<&View> = plan
        .views
        .iter()
        .filter(|view| view.stage == Stage::Blocks)
        .collect();
    let is_face = |view: &&View| view.strokes.iter().any(|s| s.layer == Layer::Cut);
    // Sections of a second block stand with the first where the plan has all faces before them.
    let blocks = views.chunk_by(|_, next| !is_face(next));
    blocks
        .zip(NAMES)
        .filter_map(|(views, name)| {
            let (face, sections) = views.split_first()?;
            Some(canvas(name, face, sections, plan, units))
        })
        .collect()
}

fn canvas(
    name: &'static str,
    face: &View,
    sections: &[&View],
    plan: &PartPlan,
    units: DisplayUnits,
) -> Canvas {
    let mut canvas = Canvas::new(name, face.title.clone());
    canvas.take(&face.strokes, point([0.0, 0.0]));
    measure(&mut canvas, face, plan, units);
    let [left, _, bottom, top] = canvas.bounds();
    let name = format!("{}  {}: {}", plan.part, plan.title, face.title);
    canvas.say([left, top + 3.0], 3.5, name);
    canvas.say(
        [left, bottom - 6.0],
        VALUE,
        "Bend lines: where the rounding of the edge begins. Make the backing block to the same outline.",
    );
    // Not left of the face: the sheet then begins where the face does.
    let start = canvas.bounds_of(&[Ink::Cut])[0].ceil();
    let mut x = start;
    let mut floor = bottom - 6.0 - APART;
    let mut lowest = floor;
    // A row of sections is as wide as the face, so that it takes no more pages across.
    let widest = canvas.bounds()[1].max(left + 180.0);
    for view in sections {
        let (mut drawn, wide, tall) = section(view, plan, units);
        if x > start && x + wide > widest {
            x = start;
            floor = lowest - APART;
        }
        // Whole millimetres, so that places in a file are easy to check.
        drawn.shift([x.round(), floor.round()]);
        canvas.strokes.append(&mut drawn.strokes);
        canvas.words.append(&mut drawn.words);
        x += wide + APART;
        lowest = lowest.min(floor - tall);
    }
    canvas
}

/// A section with its values below it, its top left corner at the origin; how wide and how tall it is.
fn section(view: &View, plan: &PartPlan, units: DisplayUnits) -> (Canvas, f64, f64) {
    let mut bounds = Bounds::default();
    for stroke in &view.strokes {
        bounds.stroke(&stroke.shape);
    }
    let [left, right, bottom, top] = bounds.sides();
    let mut canvas = Canvas::new("blocks", view.title.clone());
    let by = [-left.floor(), -top.ceil()];
    canvas.take(&view.strokes, point(by));
    let mut y = bottom + by[1] - 5.0;
    let mut wide: f64 = right - left;
    let mut lines = vec![view.title.clone()];
    lines.extend(view.dimensions.iter().filter_map(|dimension| {
        let c = plan.characteristic(&dimension.characteristic)?;
        let value = show(c.nominal, units);
        Some(match c.nominal {
            Quantity::Length(_) => format!("{}: {value}", c.name),
            Quantity::Angle(angle) => format!("{}: {value} ({})", c.name, bevel(angle)),
        })
    }));
    for line in lines {
        wide = wide.max(Words::long(&line, VALUE));
        canvas.words.push(Words {
            at: [0.0, y],
            degrees: 0.0,
            size: VALUE,
            anchor: Anchor::Start,
            ink: Ink::Text,
            text: line,
        });
        y -= LEADING * VALUE;
    }
    (canvas, wide, -y)
}

/// How a side stands to the face: under 90° it is cut back under the edge, so that the flange can be driven past
/// square and spring back to it.
fn bevel(angle: Angle) -> String {
    let off = Angle::from_mas(90 * 3_600_000 - angle.mas()).unwrap_or_default();
    let size = degrees(off.abs());
    match off.cmp(&Angle::ZERO) {
        Ordering::Greater => format!("cut back {size} under the edge"),
        Ordering::Equal => "square".to_owned(),
        Ordering::Less => format!("leans out {size}"),
    }
}

fn measure(canvas: &mut Canvas, view: &View, plan: &PartPlan, units: DisplayUnits) {
    for dimension in &view.dimensions {
        if let Some(c) = plan.characteristic(&dimension.characteristic) {
            canvas.measure(&dimension.shape, c.nominal, units);
        }
    }
}
