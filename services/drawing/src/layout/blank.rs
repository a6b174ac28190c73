//! The blank laid out: what is cut, each hole with its middle and diameter, each bend with its angle and way.

use shared_types::{
    Angle, Bend, BendWay, DimensionShape, DisplayUnits, Layer, PartPlan, Quantity, Stage, Stroke,
    StrokeShape, View, show,
};

use super::canvas::{Canvas, Words, along, ends, point, way};
use super::ink::Ink;
use super::measured::{VALUE, degrees, number, upright};
use crate::frame::{flat, mm};

/// A label on a long bend line is written again, so that every page of it has one.
const AGAIN: f64 = 170.0;
/// Half a turn: an arc that goes farther round is the rest of a drilled hole.
const HALF_TURN_MAS: i64 = 180 * 3_600_000;

pub(super) fn canvas(plan: &PartPlan, view: &View, units: DisplayUnits) -> Canvas {
    let mut canvas = Canvas::new("blank", view.title.clone());
    canvas.take(&view.strokes, point([0.0, 0.0]));
    for stroke in view.strokes.iter().filter(|s| s.layer == Layer::Cut) {
        match stroke.shape {
            StrokeShape::Circle { centre, radius } => {
                hole(&mut canvas, flat(centre), mm(radius), radius, units);
            }
            StrokeShape::Arc {
                centre,
                radius,
                start,
                sweep,
            } if sweep.mas().abs() > HALF_TURN_MAS => {
                // Drilled whole before the corner is cut out.
                let rest = |mas| Angle::from_mas(mas).unwrap_or(Angle::ZERO);
                let left = 2 * HALF_TURN_MAS - sweep.mas().abs();
                let shape = StrokeShape::Arc {
                    centre,
                    radius,
                    start: rest(start.mas() + sweep.mas()),
                    sweep: rest(if sweep.mas() < 0 { -left } else { left }),
                };
                canvas.stroke(Ink::Scribe, shape);
                hole(&mut canvas, flat(centre), mm(radius), radius, units);
            }
            StrokeShape::Line { .. } | StrokeShape::Arc { .. } => {}
        }
    }
    for dimension in &view.dimensions {
        if let Some(characteristic) = plan.characteristic(&dimension.characteristic) {
            canvas.measure(&dimension.shape, characteristic.nominal, units);
        }
    }
    // A part with a form block is worked over it; a brake has no use there.
    let brake = plan.at(Stage::Blocks).next().is_none();
    for bend in &plan.bends {
        lay_out(&mut canvas, bend, view, units, brake);
    }
    let [left, _, _, top] = canvas.bounds();
    let name = format!("{}  {}: {}", plan.part, plan.title, view.title);
    canvas.say([left, top + 3.0], 3.5, name);
    canvas
}

/// The cross to set a punch in, and the diameter.
fn hole(
    canvas: &mut Canvas,
    [x, y]: [f64; 2],
    r: f64,
    radius: shared_types::Length,
    units: DisplayUnits,
) {
    let arm = if r < 6.0 { r + 1.5 } else { 4.0 };
    canvas.line(Ink::Centre, [x - arm, y], [x + arm, y]);
    canvas.line(Ink::Centre, [x, y - arm], [x, y + arm]);
    let diameter = shared_types::Length::from_pm(2 * radius.pm()).unwrap_or(radius);
    let text = format!("Ø {}", number(diameter, units));
    let aside = if r < 6.0 { 0.75 * r + 0.6 } else { 1.2 };
    canvas.say([x + aside, y + aside], VALUE, text);
}

/// A bend's label between its tangent lines, and its sight line.
fn lay_out(canvas: &mut Canvas, bend: &Bend, view: &View, units: DisplayUnits, brake: bool) {
    let dimension = view
        .dimensions
        .iter()
        .find(|d| d.characteristic == bend.line);
    let Some(DimensionShape::Linear { from, to, .. }) = dimension.map(|d| d.shape) else {
        return;
    };
    let (inward, _) = way(flat(from), flat(to));
    let first = flat(to);
    let allowance = mm(bend.allowance);
    let text = label(bend, units);
    let Some([a, b]) = tangent_line(&view.strokes, first) else {
        // Round a curve: one label where the dimension is.
        let at = along(first, inward, allowance / 2.0);
        let go = [-inward[1], inward[0]];
        written(canvas, at, go, allowance, &text, &[0.0]);
        return;
    };
    let (go, long) = way(a, b);
    let labels = (1_u32..)
        .find(|n| long / f64::from(*n) <= AGAIN)
        .unwrap_or(1);
    for index in 0..labels {
        let at = along(a, go, long * (f64::from(index) + 0.5) / f64::from(labels));
        // Between the two lines; beside them where they lie too near to each other, or have a sight line between.
        let between = allowance > VALUE + 0.6 && !brake;
        let aside = if between {
            allowance / 2.0
        } else {
            allowance + 1.9
        };
        written(
            canvas,
            along(at, inward, aside),
            go,
            allowance,
            &text,
            &SHIFTS,
        );
    }
    if brake && bend.radius.pm() > 0 {
        let near = nose(canvas, first, inward, allowance, mm(bend.radius));
        let sight = [a, b].map(|end| along(end, inward, near));
        canvas.line(Ink::Scribe, sight[0], sight[1]);
    }
}

/// Where else along its line a label may stand, when something lies in its way.
const SHIFTS: [f64; 9] = [0.0, 15.0, -15.0, 30.0, -30.0, 40.0, -40.0, 50.0, -50.0];

fn written(
    canvas: &mut Canvas,
    at: [f64; 2],
    go: [f64; 2],
    allowance: f64,
    text: &str,
    shifts: &[f64],
) {
    let size = (allowance - 0.6).clamp(2.0, VALUE);
    let reads = upright(go);
    let up = [-reads[1], reads[0]];
    // Its middle on the place, not its baseline.
    let at = along(at, up, -0.61 * size);
    let places = shifts
        .iter()
        .map(|shift| Words::beside(along(at, reads, *shift), go, size, Ink::Bend, text));
    let least = places.min_by_key(|words| canvas.covered(words));
    canvas.words.extend(least);
}

fn label(bend: &Bend, units: DisplayUnits) -> String {
    let way = match bend.way {
        BendWay::Up => "up",
        BendWay::Down => "down",
    };
    let between = Angle::from_mas(HALF_TURN_MAS - bend.angle.mas()).unwrap_or(Angle::ZERO);
    format!(
        "bend {way} {} ({} between), R {}",
        degrees(bend.angle),
        degrees(between),
        show(Quantity::Length(bend.radius), units)
    )
}

/// How far from the first tangent line the sight line lies: one radius from the tangent line under the nose of
/// the brake, toward the other (FAA-H-8083-31 chapter 4, from memory). Under the nose goes the side on which
/// the middle of the blank lies: the larger part is clamped.
fn nose(canvas: &Canvas, first: [f64; 2], inward: [f64; 2], allowance: f64, radius: f64) -> f64 {
    let [left, right, bottom, top] = canvas.bounds_of(&[Ink::Cut]);
    let middle = [(left + right) / 2.0, (bottom + top) / 2.0];
    let ahead = (middle[0] - first[0]) * inward[0] + (middle[1] - first[1]) * inward[1];
    if ahead > allowance / 2.0 {
        allowance - radius
    } else {
        radius
    }
}

/// The straight bend line through a place.
fn tangent_line(strokes: &[Stroke], place: [f64; 2]) -> Option<[[f64; 2]; 2]> {
    // Views are computed to 0.1 µm; two tangent lines lie farther apart than a micrometre.
    const NEAR: f64 = 1e-3;
    let bends = strokes.iter().filter(|stroke| stroke.layer == Layer::Bend);
    bends
        .filter_map(|stroke| ends(&stroke.shape))
        .find(|[a, b]| {
            let (go, long) = way(*a, *b);
            let (dx, dy) = (place[0] - a[0], place[1] - a[1]);
            let (run, off) = (dx * go[0] + dy * go[1], dx * go[1] - dy * go[0]);
            off.abs() < NEAR && run > -NEAR && run < long + NEAR
        })
}
