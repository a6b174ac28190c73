//! Springback as a page: what was thought, what was read, and the bevel of the next block.

use maud::{Markup, html};
use shared_types::{Angle, DisplayUnits, PartId, Quantity};

use super::{counted, frame, scatter, shown};
use crate::learned::springback::{Folded, Next, Read, Springbacks, Told};

/// The whole page.
pub(crate) fn springback(all: &Springbacks) -> Markup {
    let body = html! {
        h1 { "Springback learned" }
        p { "A bend worked over a form block opens again by its springback. It begins as the plan predicts or states it, and moves with every formed angle that is read. Other bends of one alloy, temper, thickness and radius teach in proportion to the angle they are turned through." }
        @if all.folds.is_empty() { p.untold { "No plan in this build has a form block, so that nothing is known of what a flange was worked over. A panel with " code { "[panel.block]" } " has one." } }
        @for folded in &all.folds { (fold(folded, all.units)) }
        @if all.left_out > 0 { p.soft { (counted(all.left_out, "formed angle is", "formed angles are")) " left out: the revision it was judged by is no longer kept in memory." } }
        @if !all.unblocked.is_empty() {
            p.soft { "Nothing is learned from bends without a form block in their plan, or round a corner: " (names(&all.unblocked)) "." }
        }
    };
    frame("Springback learned", all.seq, &body)
}

fn fold(folded: &Folded, units: DisplayUnits) -> Markup {
    let (of, thought) = (&folded.fold, &folded.thought);
    html! {
        section {
            h2.rule { span { (of.alloy) ", " (length(of.thickness, units)) ", radius " (length(of.radius, units)) } }
            p {
                @match &thought.stated {
                    Some(part) => { "Stated in " (part) ": " }
                    None => { "Predicted, good to a degree or two: " }
                }
                b { (degrees(thought.back)) } " for a bend of " (degrees(thought.angle)) "."
            }
            @match &folded.learned {
                Ok(told) => { (next(told, units)) }
                Err(untold) => { p.untold { "Nothing learned: " (untold) "." } }
            }
            @if !folded.reads.is_empty() { (reads(folded)) }
        }
    }
}

fn next(told: &Told, units: DisplayUnits) -> Markup {
    let n = told.n;
    html! {
        @if n == 0 {
            p.untold { "No flange worked over such a block has been read yet: what follows is what was thought before, with its doubt." }
        } @else {
            p { (counted(n, "reading stands", "readings stand")) " behind it. Single bends scatter about it by " (scatter(told.scatter, units)) " (standard deviation, what was guessed before included)." }
        }
        @if told.next.is_empty() { p.soft { "No plan in force has such a bend any more." } } @else {
            div.wide tabindex="0" role="region" aria-label="the next block" { table {
                thead { tr { th { "Bend" } th { "Bevel for the next block" } th { "95 % interval" } th { "Between face and side" } th { "Bevel of the plan" } th { "Readings" } th { "Parts" } } }
                tbody { @for next in &told.next { (row(next)) } }
            } }
            p.soft { "The interval is that of the springback itself; where it is wide, bend a strip of the sheet over the radius and read it. To make the next block so, state the bevel as " code { "springback" } " in " code { "[panel.block]" } "." }
        }
    }
}

fn row(next: &Next) -> Markup {
    let block = next.block;
    let between = Angle::from_mas(180 * 3_600_000 - next.angle.mas() - block.bevel.mas());
    html! { tr {
        td.n { (degrees(next.angle)) }
        td.n { b { (degrees(block.bevel)) } }
        td.n { (degrees(block.least)) " to " (degrees(block.most)) }
        td.n { @if let Some(between) = between { (degrees(between)) } }
        td.n { (degrees(next.planned)) }
        td.n { (block.n) }
        td { (names(&next.parts)) }
    } }
}

fn reads(folded: &Folded) -> Markup {
    let thought = &folded.thought;
    let before = |read: &Read| !thought.counts(read);
    html! {
        details {
            summary { "What was read" }
            p.soft { "Of each flange the first reading counts: a later one may be of a flange that was worked again." @if folded.reads.iter().any(before) { " What was read before the springback was stated is taken to stand in it already, and does not count again." } }
            div.wide tabindex="0" role="region" aria-label="what was read" { table {
                thead { tr { th { "Piece" } th { "What" } th { "Turned through by the block" } th { "Bent" } th { "Springback" } th { "Entry" } } }
                tbody { @for read in &folded.reads { tr {
                    td.n { (read.piece) @if before(read) { ", before" } }
                    td { (read.name) }
                    td { (degrees(read.formed.tool)) ", "
                        @match &read.block_of {
                            Some(piece) if piece == &read.piece => { "block measured" }
                            Some(piece) => { "block measured with " (piece) }
                            None => { "block not measured: its nominal" }
                        }
                    }
                    td.n { (degrees(read.formed.bend)) }
                    td.n { @if let Some(back) = read.back() { (degrees(back)) } }
                    td.n { (read.seq) }
                } } }
            } }
        }
    }
}

fn degrees(angle: Angle) -> String {
    // An angle has one unit.
    shown(Quantity::Angle(angle), DisplayUnits::Mm)
}

fn length(length: shared_types::Length, units: DisplayUnits) -> String {
    shown(Quantity::Length(length), units)
}

fn names(parts: &[PartId]) -> String {
    let names: Vec<&str> = parts.iter().map(PartId::as_str).collect();
    names.join(", ")
}
