//! Pairing against every possible pairing, and against scipy.

use proptest::prelude::*;
use shared_types::Length;
use trends::{Table, clearances, pair};

fn pm(pm: i64) -> Length {
    Length::from_pm(pm).unwrap()
}

fn table(rows: &[Vec<i64>]) -> Table {
    let rows: Vec<Vec<Length>> = rows
        .iter()
        .map(|row| row.iter().copied().map(pm).collect())
        .collect();
    Table::new(&rows).unwrap()
}

/// The best worst clearance, and the best sum with it, by trying all.
fn tried(rows: &[Vec<i64>]) -> (i64, i128) {
    fn place(
        rows: &[Vec<i64>],
        row: usize,
        used: &mut Vec<bool>,
        skips: usize,
        so_far: (i64, i128),
    ) -> (i64, i128) {
        if row == rows.len() {
            return so_far;
        }
        let mut best = (i64::MIN, i128::MIN);
        if skips > 0 {
            best = best.max(place(rows, row + 1, used, skips - 1, so_far));
        }
        for mate in 0..used.len() {
            if !used[mate] {
                used[mate] = true;
                let gap = rows[row][mate];
                let with = (so_far.0.min(gap), so_far.1 + i128::from(gap));
                best = best.max(place(rows, row + 1, used, skips, with));
                used[mate] = false;
            }
        }
        best
    }
    let mates = rows[0].len();
    let skips = rows.len().saturating_sub(mates);
    place(rows, 0, &mut vec![false; mates], skips, (i64::MAX, 0))
}

proptest! {
    #[test]
    fn no_other_pairing_has_a_better_worst_or_with_it_a_better_sum(
        rows in (1_usize..7, 1_usize..7).prop_flat_map(|(pieces, mates)| {
            prop::collection::vec(prop::collection::vec(-9_i64..9, mates), pieces)
        })
    ) {
        let found = pair(&table(&rows));
        prop_assert_eq!((found.worst.pm(), found.sum_pm), tried(&rows));
        // Nobody stands in two places, and as many are paired as can be.
        let mut taken: Vec<usize> = found.mates.iter().flatten().copied().collect();
        prop_assert_eq!(taken.len(), rows.len().min(rows[0].len()));
        taken.sort_unstable();
        taken.dedup();
        prop_assert_eq!(taken.len(), rows.len().min(rows[0].len()));
    }
}

#[test]
fn the_best_worst_is_taken_before_the_best_sum() {
    // Along the diagonal the sum would be 101, with one pair at 1.
    let found = pair(&table(&[vec![100, 10], vec![10, 1]]));
    assert_eq!(
        (found.mates, found.worst, found.sum_pm),
        (vec![Some(1), Some(0)], pm(10), 20)
    );
}

#[test]
fn larger_tables_come_out_as_scipys() {
    // scipy 1.17.1: linear_sum_assignment on thresholds for the worst, then on the rest for the sum; the tables
    // come from a linear congruential generator with Knuth's MMIX constants.
    let cases = [
        (1, 8, 8, 512_901, 5_278_713),
        (2, 12, 12, 482_023, 7_741_338),
        (3, 20, 20, 517_542, 13_896_785),
        (4, 10, 25, 710_398, 7_672_558),
        (5, 25, 10, 731_419, 7_738_047),
        (6, 40, 40, 623_398, 30_226_160),
    ];
    for (seed, pieces, mates, worst, sum) in cases {
        let mut state: u64 = seed;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            i64::try_from((state >> 33) % 1_000_000).unwrap() - 200_000
        };
        let rows: Vec<Vec<i64>> = (0..pieces)
            .map(|_| (0..mates).map(|_| next()).collect())
            .collect();
        let found = pair(&table(&rows));
        assert_eq!(
            (found.worst.pm(), found.sum_pm),
            (worst, sum),
            "table {seed}"
        );
    }
}

#[test]
fn the_clearance_is_the_least_of_all_stations() {
    let pieces = [vec![pm(100), pm(200)], vec![pm(103), pm(201)]];
    let openings = [vec![pm(105), pm(203)], vec![pm(110), pm(201)]];
    let table = clearances(&pieces, &openings).unwrap();
    let found = |piece, mate| table.clearance(piece, mate).unwrap().pm();
    assert_eq!(
        [found(0, 0), found(0, 1), found(1, 0), found(1, 1)],
        [3, 1, 2, 0]
    );
    assert_eq!(table.clearance(2, 0), None);
    let short = [vec![pm(105)]];
    assert_eq!(
        clearances(&pieces, &short).unwrap_err().to_string(),
        "computing a pairing: found a group of 1, expected 2 as in the first one"
    );
    assert!(clearances(&[], &openings).is_err());
    assert!(Table::new(&vec![vec![pm(0)]; 101]).is_err());
}
