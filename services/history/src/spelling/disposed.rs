//! The stored spelling of what is done about a fail.

use serde::{Deserialize, Serialize};
use shared_types::{BenchId, CharacteristicId, Disposition, Event, PieceId, Seq};

use super::words::{Name, Text, Word};

/// `b` bench, `p` piece, `c` characteristic and `r` the reading that stood (both left out for the whole
/// piece), `d` what is done, `w` who, `y` why.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DisposedSpelt<'a> {
    b: Name<BenchId>,
    p: Name<PieceId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    c: Option<Name<CharacteristicId>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    r: Option<u64>,
    d: Word<Disposition>,
    #[serde(borrow)]
    w: Text<'a>,
    #[serde(borrow)]
    y: Text<'a>,
}

impl<'a> DisposedSpelt<'a> {
    pub(super) fn of(event: &'a Event) -> Self {
        let Event::Disposed {
            bench,
            piece,
            characteristic,
            reading,
            disposition,
            by,
            reason,
        } = event
        else {
            unreachable!("only a disposition is spelt as one");
        };
        Self {
            b: Name(bench.clone()),
            p: Name(piece.clone()),
            c: characteristic.clone().map(Name),
            r: reading.map(|seq| seq.0),
            d: Word(*disposition),
            w: by.as_str().into(),
            y: reason.as_str().into(),
        }
    }

    pub(super) fn read(self) -> Event {
        Event::Disposed {
            bench: self.b.0,
            piece: self.p.0,
            characteristic: self.c.map(|c| c.0),
            reading: self.r.map(Seq),
            disposition: self.d.0,
            by: self.w.into(),
            reason: self.y.into(),
        }
    }
}
