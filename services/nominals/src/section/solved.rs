//! A section solved: flats, allowances, developed width, and the contradictions only they show.

use shared_types::{Angle, Length, Stage};

use super::profile::Profile;
use super::{Given, Section, Turn};
use crate::bend::Bend;
use crate::draft::mm;
use crate::form::Table;
use crate::measure::Measure;
use crate::{AllowanceRule, BuildRules};

/// A bend with what it takes up.
#[derive(Debug)]
pub(super) struct Solid {
    pub(super) bend: Bend,
    pub(super) turn: Turn,
    pub(super) setback: Measure,
    pub(super) allowance: Measure,
}

impl Solid {
    pub(super) fn is_open(&self) -> bool {
        self.bend.cos() > 0.0
    }

    /// R + T, from the bend tangent line to the bulge of a bend turned square or further.
    pub(super) fn bulge(&self) -> Measure {
        Measure::exact(self.bend.radius) + Measure::exact(self.bend.thickness)
    }

    /// From the bend tangent line to where the neighbouring leg's outer face begins, along the leg: what
    /// jaws laid over the bend take.
    pub(super) fn reach(&self) -> Measure {
        if self.is_open() {
            self.bulge().times(self.bend.sin())
        } else {
            self.bulge()
        }
    }

    /// From the end of a leg as the plan gives it back to the bend tangent line.
    pub(super) fn given(&self, given: Given) -> Measure {
        match given {
            Given::Inside => Measure::exact(self.bend.radius).times(self.bend.k()),
            Given::Outside if self.bend.cos() < 0.0 => self.bulge(),
            Given::Outside | Given::MoldLine => self.setback,
        }
    }
}

/// The solved section.
#[derive(Debug)]
pub(super) struct Solved<'s> {
    /// As formed, or as trimmed.
    pub(super) stage: Stage,
    pub(super) section: &'s Section,
    pub(super) thickness: Length,
    pub(super) rule: AllowanceRule,
    pub(super) bends: Vec<Solid>,
    /// Of each leg, between its tangent lines.
    pub(super) flats: Vec<Measure>,
    pub(super) profile: Profile,
}

impl<'s> Solved<'s> {
    /// Solves a section; tells every contradiction.
    pub(super) fn solve(
        section: &'s Section,
        stage: Stage,
        thickness: Length,
        rules: &BuildRules,
        root: &Table<'_>,
    ) -> Option<Self> {
        let bends: Vec<Option<Solid>> = section
            .bends
            .iter()
            .map(|turned| {
                let bend = Bend {
                    thickness,
                    radius: turned.radius,
                    angle: turned.angle,
                };
                let allowance = bend.allowance_measure(rules.allowance);
                if allowance.is_none() {
                    root.tell(turned.at, format!(
                        "section.bend.radius: {} has no bend allowance for a radius of {} on sheet of {}, expected a \
                         larger radius or another rule for the build",
                        rules.allowance, mm(turned.radius.into()), mm(thickness.into())
                    ));
                }
                Some(Solid {
                    bend,
                    turn: turned.turn,
                    setback: bend.setback_measure(),
                    allowance: allowance?,
                })
            })
            .collect();
        let bends: Vec<Solid> = bends.into_iter().collect::<Option<_>>()?;
        let flats = flats(section, &bends, root)?;
        let profile = Profile::new(&flats, &bends, thickness.pm() as f64);
        if let Some([a, b]) = profile.collision() {
            root.tell(
                section.at,
                format!("section: {a} runs into {b}, expected shorter legs or smaller bend angles"),
            );
            return None;
        }
        Some(Self {
            stage,
            section,
            thickness,
            rule: rules.allowance,
            bends,
            flats,
            profile,
        })
    }

    /// Whether a leg is trimmed at this stage.
    pub(super) fn is_trimmed(&self, leg: usize) -> bool {
        let finished = &self.section.finished;
        (leg == 0 && finished.first.is_some())
            || (leg + 1 == self.flats.len() && finished.last.is_some())
    }

    /// The bends at the ends of a leg: before it and after it.
    pub(super) fn ends(&self, leg: usize) -> [Option<&Solid>; 2] {
        [
            leg.checked_sub(1).and_then(|index| self.bends.get(index)),
            self.bends.get(leg),
        ]
    }

    /// A leg between outside mold lines and free edges.
    pub(super) fn mold_line(&self, leg: usize) -> Measure {
        let setbacks = self.ends(leg).into_iter().flatten();
        self.flats[leg] + setbacks.map(|solid| solid.setback).sum()
    }

    /// The blank across the bends.
    pub(super) fn developed(&self) -> Measure {
        let flats: Measure = self.flats.iter().copied().sum();
        flats + self.bends.iter().map(|solid| solid.allowance).sum()
    }

    /// From the first leg's free edge to the first tangent line of a bend.
    pub(super) fn line(&self, bend: usize) -> Measure {
        let flats: Measure = self.flats[..=bend].iter().copied().sum();
        let before = self.bends[..bend].iter();
        flats + before.map(|solid| solid.allowance).sum()
    }

    /// What a caliper finds of a leg.
    pub(super) fn leg(&self, leg: usize) -> Measure {
        let ends = self.ends(leg);
        match ends {
            [Some(solid), None] | [None, Some(solid)] if solid.is_open() => {
                let slope = self.mold_line(leg).times(solid.bend.sin());
                slope + Measure::exact(self.thickness).times(solid.bend.cos())
            }
            _ => {
                let reaches = ends.into_iter().flatten().map(Solid::reach);
                self.flats[leg] + reaches.sum()
            }
        }
    }

    /// Whether a leg is measured square to its neighbour, not along itself.
    pub(super) fn is_square_to_neighbour(&self, leg: usize) -> Option<usize> {
        match self.ends(leg) {
            [Some(solid), None] if solid.is_open() => Some(leg - 1),
            [None, Some(solid)] if solid.is_open() => Some(leg + 1),
            _ => None,
        }
    }

    /// The shorter of the two legs of a bend, by which general tolerances of angles go.
    pub(super) fn shorter_leg(&self, bend: usize) -> Length {
        let legs = [bend, bend + 1].map(|leg| self.mold_line(leg).length());
        legs.into_iter().flatten().min().unwrap_or(Length::ZERO)
    }

    /// The bend angle and the angle between the legs, both spelt out.
    pub(super) fn angles(&self, bend: usize) -> (Angle, Angle) {
        let bend = &self.bends[bend].bend;
        (bend.angle, bend.between())
    }
}

fn flats(section: &Section, bends: &[Solid], root: &Table<'_>) -> Option<Vec<Measure>> {
    let mut sound = true;
    let flats = section.legs.iter().enumerate().map(|(leg, (given, at))| {
        let before = leg.checked_sub(1).and_then(|index| bends.get(index));
        let taken: Measure = [before, bends.get(leg)]
            .into_iter()
            .flatten()
            .map(|solid| solid.given(section.given))
            .sum();
        let flat = Measure::exact(*given) - taken;
        if flat.pm() <= 0.0 {
            sound = false;
            root.tell(
                *at,
                format!(
                    "section.{}: leg {} of {given} ends within its bends, expected more than {}",
                    section.key,
                    leg + 1,
                    mm(taken)
                ),
            );
        }
        flat
    });
    let flats: Vec<Measure> = flats.collect();
    sound.then_some(flats)
}
