//! Which piece into which mating piece, as a table to look at.

use maud::{Markup, html};
use shared_types::{DisplayUnits, FitSource, Length, PieceId, Quantity};

use super::{computed, counted, frame, shown};
use crate::learned::pairing::{Candidate, Group, PIECES_MAX, Pairs, Solved, each_side};

/// The whole page.
pub(crate) fn pairing(pairs: &Pairs) -> Markup {
    let into = &pairs.fit.into;
    let body = html! {
        h1 { "Which " (pairs.part) " into which " (into) }
        p.title { (pairs.title) }
        p { "Predicted from what is measured on both: the clearance on each side, were the piece to sit in the middle. Wanted are " b { (shown(Quantity::Length(pairs.fit.clearance), pairs.units)) } ". The least of all places counts. Fit-up alone says how it is." }
        @if pairs.stations.is_empty() {
            p.untold {
                "Nothing of " (pairs.part) " follows a " (into) " as measured"
                @if pairs.fit.source == FitSource::Plan { ": its plan follows that of " (into) }
                ". With " code { "source = \"measured\"" } " and what gives its width or height in " code { "[fit]" } ", clearances can be predicted."
            }
        } @else {
            @for group in &pairs.groups { (one(pairs, group)) }
            details {
                summary { "What is compared" }
                ul { @for name in &pairs.stations { li { (name) } } }
            }
        }
        @if pairs.cut { p.soft { "Only the first " (PIECES_MAX) " pieces of a part are looked at." } }
    };
    frame(&format!("{} into {into}", pairs.part), pairs.seq, &body)
}

fn one(pairs: &Pairs, group: &Group) -> Markup {
    html! {
        section {
            h2.rule { span {
                @match group.hand { Some(hand) => { "The " (hand.word()) " ones" } None => { "Who goes where" } }
            } }
            @match &group.solved {
                Ok(solved) => { (told(pairs, group, solved)) }
                Err(_) if Group::complete(&group.pieces).is_empty() => { p.untold { "No " (pairs.part) " is measured everywhere yet." } }
                Err(_) if Group::complete(&group.mates).is_empty() => { p.untold { "No " (pairs.fit.into) " is measured everywhere yet." } }
                Err(untold) => { p.untold { "No pairing: " (untold) "." } }
            }
            (waiting(&group.pieces))
            (waiting(&group.mates))
        }
    }
}

fn told(pairs: &Pairs, group: &Group, solved: &Solved) -> Markup {
    let (pieces, mates) = (
        Group::complete(&group.pieces),
        Group::complete(&group.mates),
    );
    let (units, pairing) = (pairs.units, &solved.pairing);
    let chosen = |piece: usize, mate: usize| pairing.mates.get(piece) == Some(&Some(mate));
    html! {
        ul #pairs {
            @for (at, piece) in pieces.iter().enumerate() {
                li { @match pairing.mates.get(at).copied().flatten() {
                    Some(mate) => { (pair(pairs, solved, (at, piece), (mate, mates[mate]))) }
                    None => { b { (piece.piece) } ": there is no " (pairs.fit.into) " left for it" }
                } (named(piece, pairing.mates.get(at).copied().flatten().map(|mate| &mates[mate].piece))) }
            }
        }
        p { "No other pairing has a better worst clearance than this one's " b { (side(pairing.worst, units)) } "; of those as good, it is one with the most room altogether." }
        div.wide tabindex="0" role="region" aria-label="predicted clearance on each side" { table {
            thead { tr { th { "Each side" } @for mate in &mates { th scope="col" { (mate.piece) } } } }
            tbody { @for (at, piece) in pieces.iter().enumerate() { tr {
                th scope="row" { (piece.piece) }
                @for (mate, _) in mates.iter().enumerate() {
                    @let clearance = solved.table.clearance(at, mate).unwrap_or_default();
                    td.n.best[chosen(at, mate)] {
                        @if chosen(at, mate) { "● " }
                        (side(clearance, units))
                        @if clearance < Length::ZERO { small { " too tight" } }
                    }
                }
            } } }
        } }
        p.key { "● paired so; too tight: the piece is larger than the opening" }
    }
}

fn pair(
    pairs: &Pairs,
    solved: &Solved,
    (row, piece): (usize, &Candidate),
    (column, mate): (usize, &Candidate),
) -> Markup {
    let clearance = solved.table.clearance(row, column).unwrap_or_default();
    let tightest = Group::tightest(piece, mate).and_then(|at| pairs.stations.get(at));
    html! {
        b { (piece.piece) " in " (mate.piece) } ": " (side(clearance, pairs.units)) " on each side"
        @if clearance < Length::ZERO { ", too tight" }
        @if let Some(name) = tightest { ", least at the " (name) }
    }
}

/// What the shop has been told already.
fn named(piece: &Candidate, paired: Option<&PieceId>) -> Markup {
    html! {
        @if let Some(mate) = &piece.named {
            @if Some(mate) == paired { " (named for it already)" } @else { " (named for it is " (mate) ")" }
        }
    }
}

/// What is not measured yet.
fn waiting(candidates: &[Candidate]) -> Markup {
    let waiting: Vec<&Candidate> = candidates.iter().filter(|c| c.off.is_none()).collect();
    html! {
        @if !waiting.is_empty() {
            details {
                summary { (counted(waiting.len(), "piece", "pieces")) " not measured everywhere yet: " (first(&waiting)) }
                ul { @for one in &waiting { li { b { (one.piece) } ": not measured: " (one.lacking.join("; ")) } } }
            }
        }
    }
}

/// The first few names.
fn first(waiting: &[&Candidate]) -> String {
    const NAMED: usize = 6;
    let mut names: Vec<String> = waiting
        .iter()
        .take(NAMED)
        .map(|one| one.piece.to_string())
        .collect();
    if waiting.len() > NAMED {
        names.push("…".to_owned());
    }
    names.join(", ")
}

fn side(both: Length, units: DisplayUnits) -> String {
    computed(Quantity::Length(each_side(both)), units)
}
