//! A layout as SVG at full size: one unit is one millimetre, each layer of each sheet a group with its name.

use maud::{Markup, html};
use shared_types::{Length, Point, StrokeShape};

use super::canvas::{Anchor, Canvas, Words};
use super::ink::{INKS, Ink};
use crate::frame::{flat, mm};

/// White round the drawing.
const CLEAR: f64 = 5.0;

pub(super) fn write(canvases: &[Canvas]) -> String {
    let [left, right, bottom, top] = canvases
        .iter()
        .map(Canvas::bounds)
        .reduce(|a, b| {
            [
                a[0].min(b[0]),
                a[1].max(b[1]),
                a[2].min(b[2]),
                a[3].max(b[3]),
            ]
        })
        .unwrap_or_default();
    let (x, y) = ((left - CLEAR).floor(), (-top - CLEAR).floor());
    let (wide, tall) = ((right + CLEAR).ceil() - x, (-bottom + CLEAR).ceil() - y);
    let view = format!("{x} {y} {wide} {tall}");
    let markup = html! {
        svg xmlns="http://www.w3.org/2000/svg" width={ (wide) "mm" } height={ (tall) "mm" } viewBox=(view)
            font-family="'DejaVu Sans Condensed', 'Liberation Sans Narrow', sans-serif"
        {
            rect x=(x) y=(y) width=(wide) height=(tall) fill="#fff" {}
            @for canvas in canvases {
                g id=(canvas.name) {
                    @for ink in INKS { (layer(canvas, ink)) }
                }
            }
        }
    };
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}\n",
        markup.into_string()
    )
}

fn layer(canvas: &Canvas, ink: Ink) -> Markup {
    let strokes: Vec<&StrokeShape> = canvas
        .strokes
        .iter()
        .filter(|(own, _)| *own == ink)
        .map(|(_, shape)| shape)
        .collect();
    let words: Vec<&Words> = canvas.words.iter().filter(|w| w.ink == ink).collect();
    let [r, g, b] = ink.colour();
    let colour = format!("#{r:02x}{g:02x}{b:02x}");
    let dashes: Vec<String> = ink.dashes_mm().iter().map(f64::to_string).collect();
    let dashes = (!dashes.is_empty()).then(|| dashes.join(" "));
    html! {
        @if !strokes.is_empty() || !words.is_empty() {
            g id={ (canvas.name) "-" (ink.word()) } fill="none" stroke=(colour) stroke-width=(ink.wide_mm())
                stroke-dasharray=[dashes]
            {
                @for shape in strokes { (stroke(shape)) }
                @for one in words { (written(one, &colour)) }
            }
        }
    }
}

fn stroke(shape: &StrokeShape) -> Markup {
    match *shape {
        StrokeShape::Line { from, to } => {
            let ([x1, y1], [x2, y2]) = (place(from), place(to));
            html! { line x1=(x1) y1=(y1) x2=(x2) y2=(y2) {} }
        }
        StrokeShape::Circle { centre, radius } => {
            let [x, y] = place(centre);
            html! { circle cx=(x) cy=(y) r=(decimal(radius)) {} }
        }
        StrokeShape::Arc {
            centre,
            radius,
            start,
            sweep,
        } => {
            let ([x, y], r) = (flat(centre), mm(radius));
            let end = |mas: i64| {
                let (sin, cos) = (mas as f64 / 3_600_000.0).to_radians().sin_cos();
                format!("{:.9} {:.9}", x + r * cos, -(y + r * sin))
            };
            // Counter-clockwise on the part runs against the clock on the screen too, where y goes down.
            let clockwise = u8::from(sweep.mas() < 0);
            // In two halves: the ends of a half circle alone say where its middle is to some hundredths only.
            let half = start.mas() + sweep.mas() / 2;
            let [from, middle, to] = [start.mas(), half, start.mas() + sweep.mas()].map(end);
            let r = decimal(radius);
            let on = |place: String| format!("A{r} {r} 0 0 {clockwise} {place}");
            html! { path d={ "M" (from) (on(middle)) (on(to)) } {} }
        }
    }
}

fn written(words: &Words, colour: &str) -> Markup {
    let [x, y] = words.at.map(|mm| format!("{mm:.3}"));
    let y = y
        .strip_prefix('-')
        .map_or_else(|| format!("-{y}"), str::to_owned);
    let anchor = match words.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let turn = format!("rotate({:.4} {x} {y})", -words.degrees);
    let turn = (words.degrees.abs() > 1e-9).then_some(turn);
    html! {
        text x=(x) y=(y) font-size=(words.size) text-anchor=(anchor) fill=(colour) stroke="none" transform=[turn] {
            (words.text)
        }
    }
}

fn place(point: Point) -> [String; 2] {
    let down = Length::from_pm(-point.y.pm()).unwrap_or_default();
    [decimal(point.x), decimal(down)]
}

/// A length in millimetres with every digit it has.
pub(super) fn decimal(length: Length) -> String {
    let text = length.rounded(shared_types::Unit::Millimetre, 9);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}
