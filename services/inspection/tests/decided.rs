//! Where fails end, and what waits for the first article: as folded from a history, whatever was done.
#![allow(clippy::unwrap_used, missing_docs)]

mod bench;

use std::sync::Arc;

use bench::{Play, bench, characteristic, id, plan};
use proptest::prelude::*;
use proptest::sample::select;
use shared_types::{
    Disposition, Event, Finding, FirstArticle, Length, PieceId, Refusal, Seq, Setup, Shop, Stage,
    Unit, Verdict,
};

const MM: Unit = Unit::Millimetre;

fn piece(text: &str) -> PieceId {
    text.parse().unwrap()
}

/// Plates of two dimensions at two stages; with first articles asked for.
fn plates() -> Play {
    let mut play = Play::new();
    let mut setup: Setup = play.shop.setup.as_deref().unwrap().clone();
    setup.first_article = FirstArticle::default();
    play.act(Event::Opened {
        version: "0".into(),
        setup,
    })
    .unwrap();
    play.adopt(plan(
        "P1",
        vec![
            characteristic(1, "width", Stage::Blank, ["100 mm", "99.5 mm", "100.5 mm"]),
            characteristic(1, "height", Stage::Formed, ["20 mm", "19.5 mm", "20.5 mm"]),
        ],
    ));
    play
}

fn dispose(
    play: &mut Play,
    of: &str,
    what: Option<&str>,
    how: Disposition,
) -> Result<Finding, Refusal> {
    let characteristic = what.map(id);
    let reading = characteristic.as_ref().and_then(|c| {
        let state = play.shop.pieces.get(&piece(of))?;
        Some(state.standing(c)?.seq)
    });
    play.act(Event::Disposed {
        bench: bench(),
        piece: piece(of),
        characteristic,
        reading,
        disposition: how,
        by: "MK".into(),
        reason: "as agreed".into(),
    })
}

fn measured(play: &mut Play, at: &str, stage: Stage, digits: &str) -> Seq {
    play.lay(at, stage).unwrap();
    play.measure("caliper", digits, MM);
    play.shop.seq
}

#[test]
fn a_fail_is_open_until_rework_and_a_pass_or_used_as_is_for_that_reading_only() {
    let mut play = plates();
    let p = piece("P1/1");
    let open = |shop: &Shop| {
        let open = shop.left_open(&p);
        open.iter()
            .map(|o| o.characteristic.id.to_string())
            .collect::<Vec<_>>()
    };
    measured(&mut play, "P1/1", Stage::Formed, "20.1");
    measured(&mut play, "P1/1", Stage::Blank, "100.7");
    assert_eq!(open(&play.shop), ["blank.width"]);
    dispose(&mut play, "P1/1", Some("blank.width"), Disposition::UseAsIs).unwrap();
    assert!(play.shop.is_complete(&p), "used as it is");
    let used = play.shop.seq;
    // A later reading is another one.
    play.pick("blank.width").unwrap();
    play.measure("caliper", "100.8", MM);
    assert_eq!(open(&play.shop), ["blank.width"]);
    dispose(&mut play, "P1/1", Some("blank.width"), Disposition::Rework).unwrap();
    assert_eq!(
        open(&play.shop),
        ["blank.width"],
        "decided, and not done yet"
    );
    play.pick("blank.width").unwrap();
    play.measure("caliper", "100.2", MM);
    assert!(play.shop.is_complete(&p));
    // The rework came after both fails: nothing was measured until it passed.
    assert!(
        play.shop.pieces[&p]
            .until_it_passed(&id("blank.width"))
            .is_empty()
    );
    // Taken back, the rework is none, and what was measured until it passed is shown as such.
    play.void(Seq(play.shop.seq.0 - 2), "not reworked after all")
        .unwrap();
    let until = play.shop.pieces[&p].until_it_passed(&id("blank.width"));
    let shown: Vec<_> = until
        .iter()
        .map(|a| (a.value.to_string(), a.verdict))
        .collect();
    assert_eq!(
        shown,
        [
            ("100.7 mm".into(), Verdict::TooLarge),
            ("100.8 mm".into(), Verdict::TooLarge)
        ]
    );
    // What was used as it is stays in the history, though its reading no longer stands.
    assert!(play.entries.iter().any(|e| e.seq == used));
}

#[test]
fn a_disposition_names_somebody_a_reason_and_the_reading_that_failed_and_stands() {
    let mut play = plates();
    measured(&mut play, "P1/1", Stage::Blank, "100.7");
    let fail = play.shop.seq;
    let event = |by: &str, reason: &str, reading, of: Option<&str>, disposition| Event::Disposed {
        bench: bench(),
        piece: piece("P1/1"),
        characteristic: of.map(id),
        reading,
        disposition,
        by: by.into(),
        reason: reason.into(),
    };
    let width = Some("blank.width");
    for (event, says) in [
        (
            event("", "why", Some(fail), width, Disposition::UseAsIs),
            "nobody is named",
        ),
        (
            event("MK", " ", Some(fail), width, Disposition::UseAsIs),
            "reason of the disposition is missing",
        ),
        (
            event("MK", "why", Some(Seq(1)), width, Disposition::UseAsIs),
            "is not the reading of blank.width that stands",
        ),
        (
            event("MK", "why", None, None, Disposition::UseAsIs),
            "the characteristic that is used as it is is missing",
        ),
        (
            event(
                "MK",
                "why",
                None,
                Some("formed.height"),
                Disposition::Rework,
            ),
            "has no failed reading that stands",
        ),
    ] {
        let refused = play.act(event).unwrap_err().to_string();
        assert!(refused.contains(says), "{refused}");
    }
    play.act(event("MK", "why", Some(fail), width, Disposition::UseAsIs))
        .unwrap();
}

#[test]
fn a_scrapped_piece_is_measured_no_further_until_that_is_taken_back() {
    let mut play = plates();
    measured(&mut play, "P1/1", Stage::Blank, "100.7");
    dispose(&mut play, "P1/1", None, Disposition::Scrap).unwrap();
    let scrap = play.shop.seq;
    assert_eq!(play.due(), "nothing");
    assert!(play.measure("caliper", "100.1", MM).starts_with("held"));
    for refused in [
        play.lay("P1/1", Stage::Formed),
        play.pick("blank.width"),
        play.assign(play.shop.seq, "blank.width", None),
        dispose(&mut play, "P1/1", Some("blank.width"), Disposition::Rework),
    ] {
        assert!(
            matches!(refused, Err(Refusal::Scrapped { .. })),
            "{refused:?}"
        );
    }
    play.void(scrap, "the wrong one").unwrap();
    assert_eq!(play.due(), "blank.width Route");
    play.lay("P1/1", Stage::Formed).unwrap();
}

#[test]
fn another_piece_waits_for_the_first_article_or_for_a_reason() {
    let mut play = plates();
    // Blocks or not, whichever is laid down first is the first article.
    measured(&mut play, "P1/2", Stage::Blank, "100.1");
    let refused = play.lay("P1/1", Stage::Blank).unwrap_err().to_string();
    assert_eq!(
        refused,
        "P1/1 waits for the first article P1/2, which still lacks 1 of 1 at stage formed; finish P1/2 first, or state the reason for beginning P1/1 now"
    );
    let early = Event::Laid {
        bench: bench(),
        piece: piece("P1/1"),
        stage: Stage::Blank,
        reason: Some("the sheet is here today".into()),
    };
    play.act(early).unwrap();
    assert_eq!(
        play.shop.pieces[&piece("P1/1")]
            .early
            .as_ref()
            .unwrap()
            .reason,
        "the sheet is here today"
    );
    // Begun, it may come back without one; a third may not.
    play.lay("P1/1", Stage::Blank).unwrap();
    assert!(play.lay("P1/3", Stage::Blank).is_err());
    let last = measured(&mut play, "P1/2", Stage::Formed, "20.1");
    assert_eq!(
        play.shop
            .batch(&piece("P1/3"))
            .unwrap()
            .released
            .as_ref()
            .unwrap()
            .seq,
        last
    );
    play.lay("P1/3", Stage::Blank).unwrap();
    assert_eq!(play.shop.pieces[&piece("P1/3")].early, None);
    // A reading it rests on is taken back: it is no longer released.
    play.void(last, "the jaws slipped").unwrap();
    assert!(play.lay("P1/4", Stage::Blank).is_err());
}

#[test]
fn a_scrapped_first_article_makes_way_and_a_new_revision_is_told_without_taking_the_release_back() {
    let mut play = plates();
    measured(&mut play, "P1/1", Stage::Blank, "100.7");
    dispose(&mut play, "P1/1", None, Disposition::Scrap).unwrap();
    measured(&mut play, "P1/2", Stage::Blank, "100.1");
    measured(&mut play, "P1/2", Stage::Formed, "20.1");
    let released = |play: &Play| play.shop.batch(&piece("P1/3")).unwrap().released.clone();
    let by = released(&play).unwrap();
    assert_eq!(
        (by.piece.to_string(), play.shop.changed_since_release(&by)),
        ("P1/2".into(), Some(vec![]))
    );
    play.adopt(plan(
        "P1",
        vec![
            characteristic(1, "width", Stage::Blank, ["100 mm", "99.5 mm", "100.5 mm"]),
            characteristic(1, "height", Stage::Formed, ["21 mm", "20.5 mm", "21.5 mm"]),
        ],
    ));
    assert_eq!(released(&play).as_ref(), Some(&by));
    assert_eq!(
        play.shop.changed_since_release(&by),
        Some(vec![id("formed.height")])
    );
}

#[test]
fn a_first_article_that_fits_is_tried_in_as_many_mating_pieces_as_are_wanted_and_there() {
    for (stated, mates, wanted) in [(None, 4, 2), (Some(3), 4, 3), (None, 1, 1), (Some(0), 4, 1)] {
        let mut play = plates();
        let mut frame = plan(
            "S2",
            vec![characteristic(
                1,
                "opening",
                Stage::Formed,
                ["50 mm", "49 mm", "51 mm"],
            )],
        );
        frame.quantity = mates;
        play.adopt(frame);
        let mut web = plan(
            "B9",
            vec![characteristic(
                1,
                "gap",
                Stage::FitUp,
                ["0.5 mm", "0.1 mm", "1 mm"],
            )],
        );
        web.fit = Some(shared_types::Fit {
            into: "S2".parse().unwrap(),
            clearance: Length::parse("0.5 mm").unwrap(),
            source: shared_types::FitSource::Plan,
            first_article_mates: stated,
        });
        play.adopt(web);
        for tried in 1..=wanted {
            play.mate("B9/1", &format!("S2/{tried}")).unwrap();
            play.lay("B9/1", Stage::FitUp).unwrap();
            assert!(
                play.shop.batch(&piece("B9/1")).unwrap().released.is_none(),
                "{stated:?} of {mates} after {}",
                tried - 1
            );
            assert_eq!(play.measure("caliper", "0.4", MM), "fit-up.gap pass");
        }
        assert!(
            play.shop.batch(&piece("B9/1")).unwrap().released.is_some(),
            "{stated:?} of {mates}"
        );
    }
}

#[test]
fn a_person_who_judges_is_named_and_a_reading_is_taken_from_nobody() {
    let mut play = plates();
    play.act(Event::Operator {
        bench: bench(),
        name: String::new(),
    })
    .unwrap();
    let reading = measured(&mut play, "P1/1", Stage::Blank, "100.7");
    assert_eq!(play.standing("P1/1", "blank.width"), "100.7 mm too large");
    let refused = play.void(reading, "slipped").unwrap_err();
    assert!(matches!(refused, Refusal::NobodyNamed { .. }), "{refused}");
    let begun = Event::CheckBegun {
        bench: bench(),
        gauge: "caliper".parse().unwrap(),
        reference: "zero".into(),
    };
    assert!(matches!(play.act(begun), Err(Refusal::NobodyNamed { .. })));
    play.measure("caliper", "7", MM);
    let held = play.shop.seq;
    assert!(matches!(
        play.assign(held, "blank.width", None),
        Err(Refusal::NobodyNamed { .. })
    ));
}

/// What a person or a gauge does, by small numbers.
fn act() -> impl Strategy<Value = (u8, u8, usize, usize)> {
    (
        0_u8..7,
        1_u8..4,
        select(vec![0_usize, 1]),
        any::<prop::sample::Index>().prop_map(|i| i.index(64)),
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Whatever is done: a piece is complete just when nothing of it is open; a release goes only with an entry that
    /// takes something back; and the same entries give the same shop again.
    #[test]
    fn complete_means_nothing_open_and_a_release_goes_only_by_what_is_taken_back(acts in prop::collection::vec(act(), 1..60)) {
        let mut play = plates();
        let stages = [Stage::Blank, Stage::Formed];
        let names = ["blank.width", "formed.height"];
        for (what, number, which, pick) in acts {
            let of = format!("P1/{number}");
            let before = play.shop.clone();
            let released = |shop: &Shop| shop.batch(&piece("P1/1")).and_then(|b| b.released.clone());
            let done = match what {
                0 | 1 => play.act(Event::Laid {
                    bench: bench(),
                    piece: piece(&of),
                    stage: stages[which],
                    reason: (what == 1).then(|| "now".into()),
                }).map(|_| ()),
                2 | 3 => {
                    let digits = [["100.1", "100.7"], ["20.1", "20.7"]][which][usize::from(what == 3)];
                    play.measure("caliper", digits, MM);
                    Ok(())
                }
                4 => {
                    let how = [Disposition::Rework, Disposition::UseAsIs, Disposition::Scrap][pick % 3];
                    dispose(&mut play, &of, (pick % 3 != 2).then_some(names[which]), how).map(|_| ())
                }
                5 => play.pick(names[which]).map(|_| ()),
                _ => {
                    let seq = Seq(1 + u64::try_from(pick).unwrap() % play.shop.seq.0);
                    play.void(seq, "a trial").map(|_| ())
                }
            };
            if done.is_err() {
                prop_assert_eq!(&play.shop, &before, "refused, and nothing was written");
            }
            if released(&before).is_some() && what != 6 {
                prop_assert_eq!(released(&play.shop), released(&before));
            }
            for number in 1..4 {
                let p = piece(&format!("P1/{number}"));
                let open = play.shop.left_open(&p);
                let scrapped = play.shop.scrapped(&p).is_some();
                prop_assert_eq!(play.shop.is_complete(&p), open.is_empty() && !scrapped && play.shop.pieces.contains_key(&p));
                // Said once more, in the plainest words.
                for name in names {
                    let state = play.shop.pieces.get(&p);
                    let stands = state.and_then(|s| s.standing(&id(name)));
                    let right = stands.is_some_and(|a| a.verdict == Verdict::Pass || state.unwrap().disposed.iter().any(|d| {
                        d.disposition == Disposition::UseAsIs && d.reading == Some(a.seq)
                    }));
                    prop_assert_eq!(open.iter().all(|o| o.characteristic.id != id(name)), right);
                }
            }
        }
        let mut again = Shop::default();
        for entry in &play.entries {
            again.apply(entry);
        }
        prop_assert_eq!(again, play.shop);
    }
}

#[test]
fn blocks_are_tools_measured_under_one_piece_and_right_for_all_of_its_hand() {
    let mut play = plates();
    play.act(Event::Adopted(Arc::new(plan(
        "P1",
        vec![
            characteristic(1, "block", Stage::Blocks, ["98 mm", "97.5 mm", "98.5 mm"]),
            characteristic(1, "width", Stage::Blank, ["100 mm", "99.5 mm", "100.5 mm"]),
        ],
    ))))
    .unwrap();
    measured(&mut play, "P1/1", Stage::Blocks, "98.1");
    assert!(
        play.shop.batch(&piece("P1/1")).is_none(),
        "blocks begin no piece"
    );
    measured(&mut play, "P1/2", Stage::Blank, "100.1");
    assert!(
        play.shop.is_complete(&piece("P1/2")),
        "its blocks were measured under P1/1"
    );
    assert_eq!(
        play.shop
            .batch(&piece("P1/2"))
            .unwrap()
            .released
            .as_ref()
            .unwrap()
            .piece,
        piece("P1/2")
    );
}
