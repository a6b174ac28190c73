//! Parts at full size, by the program's own files: read back by an independent DXF library, as text, and off
//! the printed page by poppler, as a person with a rule would.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::float_arithmetic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "dots of a picture are counted here, a few thousand to a side"
)]

mod assembled;
mod geometry;
mod raster;

use std::path::{Path, PathBuf};

use geometry::{Piece, near, of_view};
use oddleg::config::Build;
use oddleg_tests::program::run;
use shared_types::{Hand, Layer, PartPlan, Quantity, Stage};
use tempfile::TempDir;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../demo-readings");

/// Every part of the demo build, in each hand it is made in.
fn parts() -> Vec<(PartPlan, Option<Hand>)> {
    let build = Build::read(Path::new(DEMO)).unwrap();
    let mut parts = Vec::new();
    for plan in &build.parts {
        let hands: &[Option<Hand>] = match plan.mirrored {
            Some(_) => &[Some(Hand::Left), Some(Hand::Right)],
            None => &[None],
        };
        parts.extend(
            hands
                .iter()
                .map(|hand| (plan.of_hand(*hand).into_owned(), *hand)),
        );
    }
    parts
}

/// Runs `oddleg layout`; the file it wrote.
fn laid(dir: &TempDir, plan: &PartPlan, hand: Option<Hand>, file: &str, more: &[&str]) -> PathBuf {
    let out = dir.path().join(file);
    let mut args = vec![
        "layout",
        DEMO,
        plan.part.as_str(),
        "--out",
        out.to_str().unwrap(),
    ];
    if let Some(hand) = hand {
        args.extend(["--hand", hand.word()]);
    }
    args.extend(more);
    let run = run(args);
    assert_eq!(run.code, Some(0), "{}: {}", plan.part, run.complained);
    out
}

/// What the plan has flat: each with the word for `--stage`, and the strokes it must hold at the plan's own places.
fn sheets(plan: &PartPlan) -> Vec<(&'static str, &shared_types::View)> {
    [("blank", Stage::Blank), ("blocks", Stage::Blocks)]
        .into_iter()
        .filter_map(|(word, stage)| {
            let view = plan.views.iter().find(|view| view.stage == stage)?;
            Some((word, view))
        })
        .collect()
}

#[test]
fn a_dxf_file_holds_the_plans_strokes_on_the_layers_they_mean() {
    let (mut families, mut read) = (0, 0);
    for (plan, hand) in parts() {
        let dir = TempDir::new().unwrap();
        for (word, view) in sheets(&plan) {
            families += 1;
            let file = laid(
                &dir,
                &plan,
                hand,
                &format!("{word}.dxf"),
                &["--stage", word],
            );
            let drawing = dxf::Drawing::load_file(&file).unwrap();
            assert_eq!(
                drawing.header.default_drawing_units,
                dxf::enums::Units::Millimeters
            );
            let layers: Vec<&str> = drawing.layers().map(|layer| layer.name.as_str()).collect();
            for layer in ["CUT", "BEND", "SCRIBE", "CENTRE"] {
                assert!(layers.contains(&layer), "{layers:?}");
            }
            for (layer, name) in [(Layer::Cut, "CUT"), (Layer::Bend, "BEND")] {
                let wanted = of_view(view, layer);
                let found: Vec<Piece> = geometry::of_dxf(&drawing, name);
                read += found.len();
                // A second block lies below the first, somewhere else.
                let all: usize = plan
                    .views
                    .iter()
                    .filter(|other| other.stage == view.stage)
                    .map(|other| of_view(other, layer).len())
                    .sum();
                assert_eq!(found.len(), all, "{} {word} {name}", plan.part);
                let found = if all > wanted.len() {
                    geometry::only(&wanted, found)
                } else {
                    found
                };
                assert_eq!(near(&wanted, &found), Ok(()), "{} {word} {name}", plan.part);
            }
        }
    }
    assert!(
        families >= 7 && read > 100,
        "{families} sheets, {read} strokes"
    );
}

#[test]
fn an_svg_file_holds_the_plans_strokes_at_full_size() {
    for (plan, hand) in parts() {
        let dir = TempDir::new().unwrap();
        for (word, view) in sheets(&plan) {
            let file = laid(
                &dir,
                &plan,
                hand,
                &format!("{word}.svg"),
                &["--stage", word],
            );
            let text = std::fs::read_to_string(file).unwrap();
            // One unit is one millimetre.
            let [width, height] =
                ["width", "height"].map(|name| geometry::attribute(&text, name).to_owned());
            let view_box = geometry::attribute(&text, "viewBox");
            let sides: Vec<&str> = view_box.split(' ').collect();
            assert_eq!(
                format!("{}mm {}mm", sides[2], sides[3]),
                format!("{width} {height}")
            );
            for (layer, name) in [(Layer::Cut, "cut"), (Layer::Bend, "bend")] {
                let wanted = of_view(view, layer);
                let found = geometry::of_svg(&text, &format!("{word}-{name}"));
                assert_eq!(near(&wanted, &found), Ok(()), "{} {word} {name}", plan.part);
            }
        }
    }
}

/// A comparison that forgives too much would pass anything.
#[test]
fn a_stroke_that_is_a_micrometre_off_would_be_seen() {
    let (plan, _) = parts().into_iter().next().unwrap();
    let wanted = of_view(sheets(&plan)[0].1, Layer::Cut);
    assert_eq!(near(&wanted, &wanted), Ok(()));
    for change in [
        |piece: &mut Piece| piece.numbers[0] += 1e-3,
        |piece: &mut Piece| piece.numbers[3] -= 2e-6,
    ] {
        let mut found = wanted.clone();
        change(found.last_mut().unwrap());
        near(&wanted, &found).unwrap_err();
    }
    near(&wanted, &wanted[1..]).unwrap_err();
    near(&wanted[1..], &wanted).unwrap_err();
}

/// What a person with a rule finds on the printed pages of a part, against its plan: nothing where all is well.
fn wrong_on_paper(pdf: &Path, plan: &PartPlan, dpi: f64) -> Vec<String> {
    let mut wrong = Vec::new();
    for (word, view) in sheets(plan) {
        let pages = raster::pages(pdf, word, dpi);
        for page in &pages {
            wrong.extend(page.wrong_bars());
        }
        let sheet = match assembled::Sheet::of(pages) {
            Ok(sheet) => sheet,
            Err(faults) => {
                wrong.extend(faults);
                continue;
            }
        };
        let known = ["width", "length"].into_iter().find_map(|what| {
            let id = format!("{word}.{what}").parse().ok()?;
            plan.characteristic(&id)
        });
        if let (Some(known), "blank") = (known, word) {
            let Quantity::Length(length) = known.nominal else {
                unreachable!("{known:?}")
            };
            let mm = length.pm() as f64 / 1e9;
            wrong.extend(sheet.wrong_size(
                &known.name,
                usize::from(known.id.as_str() == "blank.length"),
                mm,
            ));
        }
        wrong.extend(sheet.wrong_strokes(&of_view(view, Layer::Cut), word == "blank"));
    }
    wrong
}

/// At 300 dots an inch a dot is 0.085 mm.
const DPI: f64 = 300.0;

#[test]
fn the_printed_pages_taped_by_their_marks_measure_what_the_plan_says() {
    let all = parts();
    for (part, paper) in [("B2", "a4"), ("B3", "letter")] {
        let (plan, hand) = all
            .iter()
            .find(|(plan, _)| plan.part.as_str() == part)
            .unwrap();
        let dir = TempDir::new().unwrap();
        let pdf = laid(&dir, plan, *hand, "part.pdf", &["--paper", paper]);
        assert_eq!(
            wrong_on_paper(&pdf, plan, DPI),
            Vec::<String>::new(),
            "{part} on {paper}"
        );
    }
}

#[test]
fn a_print_half_a_per_cent_too_large_would_be_seen_on_the_bars_and_on_the_part() {
    let (plan, hand) = parts()
        .into_iter()
        .find(|(plan, _)| plan.part.as_str() == "B2")
        .unwrap();
    let dir = TempDir::new().unwrap();
    let pdf = laid(&dir, &plan, hand, "part.pdf", &[]);
    let wrong = wrong_on_paper(&pdf, &plan, DPI * 1.005).join("\n");
    for what in [
        "the bar of 100 mm",
        "the bar of 4 in",
        "overall width of the blank",
    ] {
        assert!(wrong.contains(what), "{wrong}");
    }
}

#[test]
fn the_same_part_is_laid_out_byte_for_byte_the_same() {
    let (plan, hand) = parts().into_iter().next().unwrap();
    let dir = TempDir::new().unwrap();
    for ending in ["pdf", "svg", "dxf"] {
        let [one, other] = ["one", "other"].map(|name| {
            let file = laid(&dir, &plan, hand, &format!("{name}.{ending}"), &[]);
            std::fs::read(file).unwrap()
        });
        assert!(one == other, "{ending}");
    }
}

#[test]
fn what_cannot_be_laid_out_or_written_is_said_and_nothing_is_written_over() {
    let dir = TempDir::new().unwrap();
    let there = dir.path().join("there.svg");
    std::fs::write(&there, "mine").unwrap();
    let file = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let cases: [(Vec<&str>, String, i32, &str); 8] = [
        (
            vec!["B2"],
            file("there.svg"),
            74,
            "there is a file of that name, expected a new one",
        ),
        (
            vec!["B2"],
            file("b2.png"),
            74,
            "found the ending \"png\", expected .pdf, .svg or .dxf",
        ),
        (
            vec!["B2"],
            file("b2"),
            74,
            "found the ending \"\", expected .pdf, .svg or .dxf",
        ),
        (
            vec!["Z9"],
            file("z9.pdf"),
            74,
            "there is no part \"Z9\" in this build, expected one of B1, B2",
        ),
        (
            vec!["B2"],
            file("no/b2.pdf"),
            74,
            "no/b2.pdf: No such file or directory",
        ),
        (
            vec!["B2", "--hand", "left"],
            file("b2.pdf"),
            74,
            "expected none: it is not made in pairs",
        ),
        (
            vec!["H1", "--stage", "blocks"],
            file("h1.pdf"),
            74,
            "found nothing flat at blocks",
        ),
        (
            vec!["B2", "--pen", "2 cm"],
            file("b2.pdf"),
            2,
            "expected 0 mm to 10 mm",
        ),
    ];
    for (args, out, code, said) in &cases {
        let mut line = vec!["layout", DEMO];
        line.extend(args);
        line.extend(["--out", out]);
        let run = run(line);
        assert_eq!(run.code, Some(*code), "{args:?} {out}: {}", run.complained);
        assert!(run.complained.contains(said), "{}", run.complained);
    }
    let left: Vec<_> = std::fs::read_dir(dir.path()).unwrap().collect();
    assert_eq!(left.len(), 1);
    assert_eq!(std::fs::read_to_string(there).unwrap(), "mine");
}
