//! A spine small enough to read, over the real history.

use std::path::Path;
use std::sync::Arc;

use history::Writer;
use shared_types::*;
use tokio::sync::{mpsc, watch};

use super::plan::plan;
use super::setup;

pub struct Spine {
    pub writer: Writer,
    pub shop: Shop,
    pub at_us: i64,
}

impl Spine {
    pub fn open(dir: &Path, title: &str, benches: usize) -> Self {
        let mut shop = Shop::default();
        let writer =
            Writer::open(dir, "oddleg/saltmarsh", |entry| shop.apply(&entry)).expect("a history");
        // 2026-11-25 10:41:00 UTC, invented.
        let mut spine = Self {
            writer,
            shop,
            at_us: 1_795_603_260_000_000,
        };
        spine
            .put(Event::Opened {
                version: "0".to_owned(),
                setup: setup(benches),
            })
            .expect("accepted");
        spine
            .put(Event::Adopted(Arc::new(plan(title))))
            .expect("accepted");
        spine
    }

    /// One event, judged, committed and folded.
    pub fn put(&mut self, event: Event) -> Result<Seq, Refusal> {
        let finding = self.inspect(&event)?;
        Ok(self.write(event, finding))
    }

    /// One event with what is said to follow from it.
    pub fn write(&mut self, event: Event, finding: Finding) -> Seq {
        self.at_us += 7_000_000;
        let fact = Fact {
            at_us: self.at_us,
            event,
            finding,
        };
        self.writer.begin().expect("begins");
        let seq = self.writer.append(&fact, None).expect("appends");
        self.writer.commit().expect("commits");
        self.shop.apply(&Entry { seq, fact });
        seq
    }

    fn judged(
        &self,
        piece: &PieceId,
        of: &CharacteristicId,
        value: Quantity,
    ) -> Result<Finding, Refusal> {
        let adopted = self
            .shop
            .parts
            .get(piece.part())
            .ok_or(Refusal::NothingOnBench)?;
        let c = adopted
            .plan
            .characteristic(of)
            .ok_or_else(|| Refusal::NoCharacteristic(of.to_string()))?;
        let verdict = match c.limits.place(value).ok_or(Refusal::WrongKind)? {
            Place::Below => Verdict::TooSmall,
            Place::Within => Verdict::Pass,
            Place::Above => Verdict::TooLarge,
        };
        Ok(Finding::Judged {
            piece: piece.clone(),
            characteristic: of.clone(),
            revision: adopted.seq,
            value,
            verdict,
            into: None,
            fitted: None,
            derived: Vec::new(),
            correction: None,
            grounds: None,
        })
    }

    fn checked(&self, gauge: &GaugeId, reference: &Reference, value: Quantity) -> Finding {
        let trust = &self.shop.gauge_setup(gauge).expect("configured").trust;
        let limit = trust.limit_at(reference.value, reference.faces);
        let limit = limit.expect("stated");
        let off = value.minus(reference.value).expect("of one kind").raw();
        let verdict = match off {
            off if off < -limit.raw() => Verdict::TooSmall,
            off if off > limit.raw() => Verdict::TooLarge,
            _ => Verdict::Pass,
        };
        Finding::Checked {
            reference: reference.name.clone(),
            wanted: reference.value,
            limit,
            verdict,
        }
    }

    fn inspect(&self, event: &Event) -> Result<Finding, Refusal> {
        match event {
            Event::Observed(Observation {
                decoded: Decoded::Reading(reading),
                gauge,
                ..
            }) => {
                let checking = self.shop.checks(gauge).and_then(|c| c.checking.as_ref());
                if let Some(Checking { reference, .. }) = checking {
                    return Ok(self.checked(gauge, reference, reading.value));
                }
                let on_bench = self
                    .shop
                    .bench_of(gauge)
                    .and_then(|b| self.shop.benches[b].on_bench.clone());
                let due = self
                    .shop
                    .bench_of(gauge)
                    .and_then(|b| self.shop.benches[b].due.clone());
                if let (Some((piece, _)), Some((due, _))) = (&on_bench, &due)
                    && let Ok(finding @ Finding::Judged { .. }) =
                        self.judged(piece, due, reading.value)
                {
                    let near = self.shop.parts[piece.part()]
                        .plan
                        .characteristic(due)
                        .expect("due")
                        .nominal;
                    if (near.raw() - reading.value.raw()).abs() <= near.raw() / 6 {
                        return Ok(finding);
                    }
                }
                let candidates = due
                    .map(|(characteristic, _)| {
                        vec![Candidate {
                            characteristic,
                            unit: if reading.unit == Unit::Millimetre {
                                Unit::Inch
                            } else {
                                reading.unit
                            },
                            form: None,
                        }]
                    })
                    .unwrap_or_default();
                let mut candidates: Vec<Candidate> = candidates;
                let reason = if on_bench.is_none() {
                    HeldReason::NothingOnBench
                } else if reading.unit == Unit::Degree {
                    for form in [Form::Supplement, Form::Complement] {
                        candidates.extend(candidates.first().cloned().map(|first| Candidate {
                            form: Some(form),
                            ..first
                        }));
                    }
                    HeldReason::OtherLeg
                } else {
                    HeldReason::WrongUnit
                };
                // 99.98 mm stands for a gauge that is not at nought.
                let offset = (reading.digits == "99.98").then(|| SameOffset {
                    by: Quantity::parse("1.32 mm").expect("a length"),
                    readings: vec![Seq(9), Seq(10)],
                });
                let reason = match offset {
                    Some(_) => HeldReason::NotZeroed,
                    None => reason,
                };
                Ok(Finding::Held {
                    reason,
                    on_bench,
                    candidates,
                    offset,
                })
            }
            Event::Laid { piece, .. } if piece.number() > 4 => Err(Refusal::NoPiece {
                part: "B2".to_owned(),
                quantity: 4,
                pairs: false,
                number: piece.number(),
            }),
            Event::Picked { bench, .. } if self.shop.benches[bench].on_bench.is_none() => {
                Err(Refusal::NothingOnBench)
            }
            Event::Assigned {
                bench,
                reading,
                characteristic,
                unit,
                form,
            } => {
                let held = self.shop.benches[bench].held.get(reading);
                let (piece, value) = match held {
                    Some(held) => {
                        let read = unit
                            .and_then(|u| held.reading.in_unit(u))
                            .unwrap_or_else(|| held.reading.clone());
                        let (piece, _) = held.on_bench.clone().ok_or(Refusal::NothingOnBench)?;
                        let value = form.map_or(Some(read.value), |form| form.of(read.value));
                        (piece, value.ok_or(Refusal::WrongKind)?)
                    }
                    None => self
                        .shop
                        .attempt(*reading)
                        .map(|(p, _, a)| (p.clone(), a.value))
                        .ok_or(Refusal::NoReading(*reading))?,
                };
                self.judged(&piece, characteristic, value)
            }
            Event::CheckBegun { gauge, .. } if self.shop.gauge_setup(gauge).is_none() => {
                Err(Refusal::NoGauge {
                    gauge: gauge.to_string(),
                    bench: "bench-1".to_owned(),
                })
            }
            Event::Voided { reading, .. }
                if self.shop.attempt(*reading).is_none()
                    && self.shop.checked_by(*reading).is_none() =>
            {
                Err(Refusal::NoReading(*reading))
            }
            _ => Ok(Finding::Noted),
        }
    }

    /// Runs on its own thread until the last sender is gone.
    pub fn run(mut self, mut events: mpsc::Receiver<Submission>, newest: &watch::Sender<Seq>) {
        while let Some(submission) = events.blocking_recv() {
            self.at_us = self.at_us.max(submission.at_us - 7_000_000);
            let outcome = match self.put(submission.event) {
                Ok(seq) => Outcome::Committed(seq),
                Err(refusal) => Outcome::Refused(refusal),
            };
            newest.send_replace(self.shop.seq);
            submission.receipt.tell(outcome);
        }
    }
}
