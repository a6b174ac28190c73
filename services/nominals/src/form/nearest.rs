//! The known word a misspelt one was probably meant to be.

/// The nearest of `known` to `word`, where it is near enough to be a slip of the keys: at most two
/// slips in five letters (two letters swapped are two slips).
pub(crate) fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    known
        .into_iter()
        .map(|candidate| (slips(word, candidate), candidate))
        .filter(|(slips, candidate)| *slips * 5 <= (candidate.chars().count() * 2).max(5))
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, candidate)| candidate)
}

/// Letters to insert, drop or change to get from one word to the other.
fn slips(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, b) in to.iter().enumerate() {
            let changed = diagonal + usize::from(!a.eq_ignore_ascii_case(b));
            diagonal = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[to.len()]
}
