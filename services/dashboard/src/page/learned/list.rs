//! Parts and their characteristics, and of how many pieces each is measured.

use maud::{Markup, html};
use shared_types::{Adopted, Characteristic, Shop};

use super::{counted, frame};
use crate::learned::series::standing;

/// Everything there is to look at.
pub(crate) fn list(shop: &Shop) -> Markup {
    let parts: Vec<(&Adopted, Vec<Row<'_>>)> = shop
        .parts
        .values()
        .map(|adopted| (adopted, rows(shop, adopted)))
        .collect();
    let body = html! {
        h1 { "Trends" }
        p { "How each dimension runs from piece to piece, in the order it was measured." }
        @if parts.is_empty() { p { "There is no part in this build yet." } }
        @for (adopted, rows) in &parts {
            @let plan = &adopted.plan;
            section {
                h2.rule { span { (plan.part) " · " (plan.title) } }
                @if adopted.withdrawn.is_some() { p.soft { "Its file is no longer in the build." } }
                @if let Some(fit) = &plan.fit {
                    p { a href={ "/pairing/" (plan.part) } { "Which " (plan.part) " goes into which " (fit.into) } }
                }
                @let measured = rows.iter().filter(|row| row.pieces > 0);
                @let waiting = rows.iter().filter(|row| row.pieces == 0).count();
                ul.series {
                    @for row in measured {
                        li { a href={ "/trends/" (plan.part) "/" (row.c.id) } {
                            span { (row.c.stage) " " (row.c.number) " · " (row.c.name) }
                            small { (counted(row.pieces, "piece", "pieces")) @if row.out > 0 { ", " (row.out) " out of limits" } }
                        } }
                    }
                }
                @if waiting > 0 { p.soft { (counted(waiting, "dimension is", "dimensions are")) " not measured on any piece yet." } }
            }
        }
    };
    frame("Trends", shop.seq, &body)
}

struct Row<'a> {
    c: &'a Characteristic,
    pieces: usize,
    out: usize,
}

fn rows<'a>(shop: &Shop, adopted: &'a Adopted) -> Vec<Row<'a>> {
    let plan = &adopted.plan;
    let row = |c: &'a Characteristic| {
        let (mut pieces, mut out) = (0, 0);
        for (piece, state) in &shop.pieces {
            if let Some(attempt) = standing(piece, &plan.part, state, &c.id) {
                pieces += 1;
                out += usize::from(attempt.verdict != shared_types::Verdict::Pass);
            }
        }
        Row { c, pieces, out }
    };
    plan.characteristics.iter().map(row).collect()
}
