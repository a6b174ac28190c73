//! Rows of fasteners read from a flange's table.

use super::Row;
use crate::form::Table;
use crate::part::dimension;

/// Reads every `[[panel.flange.rivets]]` of a flange.
pub(in crate::flange) fn read(table: &Table<'_>) -> Option<Vec<Row>> {
    let rows: Vec<Option<Row>> = table.may("rivets").tables().iter().map(row).collect();
    rows.into_iter().collect()
}

fn row(table: &Table<'_>) -> Option<Row> {
    table.only(&["diameter", "edge_distance", "first", "pitch", "count"]);
    let diameter = dimension(table, "diameter", true);
    let edge_distance = dimension(table, "edge_distance", true);
    let first = dimension(table, "first", true);
    let pitch = dimension(table, "pitch", true);
    // As many as a row in a web may have; one alone has no pitch.
    let count = table.need("count").integer(2..=100);
    let row = Row {
        diameter: diameter?,
        edge_distance: edge_distance?,
        first: first?,
        pitch: pitch?,
        count: count?,
        at: table.at(),
        edge_distance_at: table.at_of("edge_distance"),
    };
    if row.pitch <= row.diameter {
        let what = format!(
            "found {}, expected more than the diameter of {}, so that there is metal between the holes",
            row.pitch, row.diameter
        );
        table.wrong("pitch", what);
        return None;
    }
    Some(row)
}
