//! Data files as whole numbers.

pub(crate) fn text(name: &str) -> String {
    let path = format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// A decimal number times 10^places, which must be whole.
pub(crate) fn whole(word: &str, places: usize) -> i64 {
    let (sign, word) = word.strip_prefix('-').map_or((1, word), |rest| (-1, rest));
    let (whole, decimals) = word.split_once('.').unwrap_or((word, ""));
    let decimals = decimals.trim_end_matches('0');
    assert!(
        decimals.len() <= places,
        "{word} has more than {places} places"
    );
    sign * format!("{whole}{decimals:0<places$}")
        .parse::<i64>()
        .expect(word)
}

/// The readings of a univariate StRD file: what stands under its dashes.
pub(crate) fn strd(name: &str, places: usize) -> Vec<i64> {
    let text = text(name);
    let (_, data) = text.split_once("Data: Y").expect(name);
    let lines = data.lines().skip(2).map(str::trim);
    lines
        .filter(|line| !line.is_empty())
        .map(|line| whole(line, places))
        .collect()
}

/// One column of a comma-separated file with a head.
pub(crate) fn column(name: &str, at: usize, places: usize) -> Vec<i64> {
    let text = text(name);
    let cells = text
        .lines()
        .skip(1)
        .map(|line| line.split(',').nth(at).expect(line));
    cells
        .filter(|cell| !cell.is_empty())
        .map(|cell| whole(cell, places))
        .collect()
}

/// The twenty subgroups of five of CCXBAR.DAT, in tenths.
pub(crate) fn ccxbar() -> Vec<Vec<i64>> {
    let text = text("CCXBAR.DAT");
    let readings: Vec<i64> = text
        .lines()
        .skip(25)
        .filter_map(|line| line.split_whitespace().next())
        .map(|word| whole(word, 1))
        .collect();
    readings.chunks(5).map(<[i64]>::to_vec).collect()
}
