//! A form block read from its table.

use shared_types::Angle;

use super::Block;
use crate::form::Table;

/// Most that is taken as a springback: beyond it the sheet keeps too little of a bend to be formed so.
const SPRINGBACK_MAX_DEG: i64 = 30;

/// Reads `[panel.block]`: `Some(None)` where there is none, nothing where it is wrong.
pub(crate) fn read(panel: &Table<'_>) -> Option<Option<Block>> {
    if !panel.has("block") {
        return Some(None);
    }
    let table = panel.may("block").table()?;
    table.only(&["springback"]);
    let springback = table.may("springback").angle();
    let most = Angle::from_mas(SPRINGBACK_MAX_DEG * 3_600_000)?;
    if let Some(angle) = springback
        && (angle < Angle::ZERO || angle > most)
    {
        let what = format!(
            "found {angle}, expected 0° to {SPRINGBACK_MAX_DEG}°, by which a flange opens when it is let go"
        );
        table.wrong("springback", what);
        return None;
    }
    (springback.is_some() == table.has("springback")).then_some(Some(Block {
        springback,
        at: table.at(),
    }))
}
