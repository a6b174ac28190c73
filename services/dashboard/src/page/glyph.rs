//! The shape of a verdict: a block between the jaws of a caliper. It fills them, stands out, leaves a
//! gap, or is not between them at all; the shape alone tells, without colour and without reading.

use maud::{Markup, html};
use shared_types::Verdict;

/// What became of a reading, as a shape.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    Judged(Verdict),
    /// Of a study: between the jaws, and nothing is said of it.
    Studied,
    Held,
    Garbled,
    Gone,
    Nothing,
}

impl Shape {
    /// Its class, which only adds the colour.
    pub(super) const fn class(self) -> &'static str {
        match self {
            Self::Judged(Verdict::Pass) => "pass",
            Self::Judged(Verdict::TooSmall) => "under",
            Self::Judged(Verdict::TooLarge) => "over",
            Self::Judged(Verdict::Undecided) => "undecided",
            Self::Studied => "studied",
            Self::Held => "held",
            Self::Garbled => "garbled",
            Self::Gone => "gone",
            Self::Nothing => "nothing",
        }
    }
}

/// The large one beside the verdict's word.
pub(super) fn jaws(shape: Shape) -> Markup {
    html! {
        svg.jaws viewBox="0 0 132 72" aria-hidden="true" focusable="false" {
            // The fixed jaw, its flat face towards the block.
            path.steel d="M24 4V68L12 60 6 30V4Z" {}
            @match shape {
                Shape::Judged(Verdict::Pass) => {
                    path.steel d="M108 4V68L120 60 126 30V4Z" {}
                    rect.block x="26" y="24" width="80" height="28" {}
                }
                Shape::Judged(Verdict::TooLarge) => {
                    path.steel.open d="M108 4V68L120 60 126 30V4Z" {}
                    rect.block x="26" y="24" width="104" height="28" {}
                }
                Shape::Judged(Verdict::TooSmall) => {
                    path.steel d="M108 4V68L120 60 126 30V4Z" {}
                    rect.block x="26" y="24" width="48" height="28" {}
                    path.gap d="M82 24V52M90 24V52M98 24V52" {}
                }
                Shape::Judged(Verdict::Undecided) => {
                    // Its end lies where the jaw's face is, on this side of it or on that.
                    path.steel.open d="M108 4V68L120 60 126 30V4Z" {}
                    rect.block x="26" y="24" width="70" height="28" {}
                    path.gap d="M101 24V52M108 24V52M115 24V52" {}
                }
                Shape::Studied => {
                    path.steel d="M108 4V68L120 60 126 30V4Z" {}
                    rect.block.open x="28" y="25" width="76" height="26" {}
                    path.gap d="M47 25V36M66 25V42M85 25V36" {}
                }
                Shape::Held => {
                    // Closed on nothing, and the block beside them.
                    path.steel d="M27 4V68L39 60 45 30V4Z" {}
                    rect.block.open x="62" y="24" width="66" height="28" {}
                }
                Shape::Garbled => {
                    path.steel d="M108 4V68L120 60 126 30V4Z" {}
                    path.block d="M26 24H58L50 33 60 43 52 52H26Z" {}
                    path.block d="M76 24H106V52H70L78 43 68 33Z" {}
                }
                Shape::Nothing => { path.steel d="M108 4V68L120 60 126 30V4Z" {} }
                Shape::Gone => {
                    path.steel d="M108 4V68L120 60 126 30V4Z" {}
                    rect.block.open x="28" y="25" width="76" height="26" {}
                    path.gap d="M20 62L112 14" {}
                }
            }
        }
    }
}

/// The small one under a step's number.
pub(super) fn mark(verdict: Option<Verdict>) -> Markup {
    html! {
        svg.mark viewBox="0 0 32 8" aria-hidden="true" focusable="false" {
            @if let Some(verdict) = verdict {
                path.steel d="M6 0V8M26 0V8" {}
                @match verdict {
                    Verdict::Pass => { rect.block x="6" y="2" width="20" height="4" {} }
                    Verdict::TooLarge => { rect.block x="6" y="2" width="26" height="4" {} }
                    Verdict::TooSmall => { rect.block x="6" y="2" width="11" height="4" {} }
                    Verdict::Undecided => { path.block d="M6 2H18V6H6ZM21 2H23V6H21ZM29 2H31V6H29Z" {} }
                }
            }
        }
    }
}
