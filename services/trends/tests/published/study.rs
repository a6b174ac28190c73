//! The gauge study of ten pieces, three appraisers and three trials, both ways.

use trends::study::{Interaction, Readings, by_ranges, by_variance, pooled_by_custom};

use crate::{data, near};

/// `gauge_study_10x3x3.csv`, in hundredths.
fn study() -> Readings {
    let text = data::text("gauge_study_10x3x3.csv");
    let mut cells = vec![vec![Vec::new(); 10]; 3];
    for line in text.lines().skip(1) {
        let words: Vec<&str> = line.split(',').collect();
        let appraiser = ["A", "B", "C"]
            .iter()
            .position(|name| *name == words[0])
            .unwrap();
        let piece: usize = words[2].parse().unwrap();
        cells[appraiser][piece - 1].push(data::whole(words[3], 2));
    }
    Readings::new(cells).unwrap()
}

#[test]
fn by_averages_and_ranges_as_the_manual_prints_it() {
    // AIAG MSA manual (from memory, recomputed); printed intermediates are rounded, hence 2e-4.
    let found = by_ranges(&study()).unwrap();
    near(found.repeatability / 100.0, 0.201_88, 2e-4);
    near(found.reproducibility / 100.0, 0.229_63, 2e-4);
    near(found.gauge() / 100.0, 0.305_75, 2e-4);
    near(found.pieces / 100.0, 1.104_56, 2e-4);
    near(found.total() / 100.0, 1.146_10, 2e-4);
    near(found.percent_of_total(), 26.68, 0.01);
    near(found.distinct_classes(), 5.0, 0.0);
}

#[test]
fn by_analysis_of_variance_with_the_interaction_pooled() {
    // AIAG MSA manual (from memory, recomputed).
    let (interaction, found) = pooled_by_custom(&study()).unwrap();
    assert_eq!(interaction, Interaction::Pooled);
    near(found.study.repeatability / 100.0, 0.199_933, 5e-7);
    near(found.study.reproducibility / 100.0, 0.226_838, 5e-7);
    // Printed 0.302373; the root of the squares of its printed parts is 0.3023717.
    near(found.study.gauge() / 100.0, 0.302_373, 2e-6);
    near(found.study.pieces / 100.0, 1.042_327, 5e-7);
    near(found.study.percent_of_total(), 27.86, 0.005);
    near(found.study.freedom, 78.0, 0.0);
}

#[test]
fn the_parts_of_the_table_add_up_with_and_without_interaction() {
    let kept = by_variance(&study(), Interaction::Kept).unwrap();
    // Degrees of freedom of the manual's table: 2, 9, 18 and 60; F of the interaction 0.434 (from memory).
    let freedoms =
        [kept.appraisers, kept.pieces, kept.interaction, kept.repeats].map(|line| line.freedom);
    assert_eq!(freedoms, [2.0, 9.0, 18.0, 60.0]);
    near(
        kept.interaction.mean() / kept.repeats.mean(),
        0.434,
        0.000_5,
    );
    near(kept.interaction_p, 0.974, 0.000_5);
    near(kept.study.interaction, 0.0, 0.0);
    let pooled = by_variance(&study(), Interaction::Pooled).unwrap();
    let pooled_squares = pooled.study.repeatability.powi(2) * pooled.study.freedom;
    near(
        pooled_squares,
        kept.interaction.squares + kept.repeats.squares,
        1e-9,
    );
}

#[test]
fn an_appraiser_who_reads_some_pieces_differently_is_seen_as_interaction() {
    // The second appraiser reads every other piece 30 grains high; one grain of noise.
    let cell = |appraiser: i64, piece: i64| {
        let own = if appraiser == 1 && piece % 2 == 0 {
            30
        } else {
            0
        };
        vec![
            100 * piece + own,
            100 * piece + own + 1,
            100 * piece + own - 1,
        ]
    };
    let cells = (0..3)
        .map(|a| (0..6).map(|p| cell(a, p)).collect())
        .collect();
    let readings = Readings::new(cells).unwrap();
    let (interaction, found) = pooled_by_custom(&readings).unwrap();
    assert_eq!(interaction, Interaction::Kept);
    assert!(found.interaction_p < 1e-20);
    near(found.study.repeatability, 1.0, 1e-12);
    assert!((8.0..15.0).contains(&found.study.interaction), "{found:?}");
    // Averages and ranges cannot see it.
    near(by_ranges(&readings).unwrap().interaction, 0.0, 0.0);
}

#[test]
fn what_is_no_study_is_refused() {
    let refused = |cells: Vec<Vec<Vec<i64>>>| Readings::new(cells).unwrap_err().to_string();
    assert!(refused(vec![vec![vec![1, 2]; 3]]).contains("found 1, expected at least 2"));
    assert!(
        refused(vec![vec![vec![1, 2]; 3], vec![vec![1, 2]; 2]])
            .contains("found a group of 2, expected 3")
    );
    assert!(
        refused(vec![vec![vec![1, 2]; 2], vec![vec![1, 2], vec![1]]])
            .contains("found a group of 1")
    );
    let alike = Readings::new(vec![vec![vec![7, 7]; 2]; 2]).unwrap();
    assert!(by_ranges(&alike).is_err() && by_variance(&alike, Interaction::Kept).is_err());
}
