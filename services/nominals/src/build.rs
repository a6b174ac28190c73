//! The parts of a build computed together: what follows from a mating part is computed after it.

use std::collections::BTreeMap;

use shared_types::{
    CharacteristicId, Follows, Length, Mistake, PM_PER_MM, PartId, PartPlan, Quantity,
};

use crate::BuildRules;
use crate::fit::{Fitted, Mate, Mates, Sureness};
use crate::form;
use crate::part::{Computed, compute};

/// A part file.
#[derive(Clone, Debug)]
pub struct PartFile {
    /// The name the person knows it by.
    pub name: String,
    /// What is in it.
    pub text: String,
}

/// A part computed among the others.
#[derive(Clone, Debug)]
pub struct Part {
    /// `digest` is empty: whoever read the file fills it, from the file, the rules and `taken`.
    pub plan: PartPlan,
    /// Its file, by its place in the list.
    pub file: usize,
    /// What of mating parts its nominals follow from.
    pub taken: Vec<Taken>,
}

/// A nominal of a mating part that went into a part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    /// The mating part.
    pub part: PartId,
    /// Which nominal of it.
    pub characteristic: CharacteristicId,
    /// As its plan had it.
    pub nominal: Quantity,
}

/// A part opened by this much shows which nominals move one for one with it.
const PROBE_PM: i64 = PM_PER_MM;

/// Both ends of a move are rounded to a grain of 0.1 µm, so that it may be off by one.
const PROBE_SLACK_PM: i64 = 100_000;

/// Computes all parts of a build: those without mistakes in the order of their files, and every mistake.
#[must_use]
pub fn build(files: &[PartFile], rules: &BuildRules) -> (Vec<Part>, Vec<Mistake>) {
    let mut known = Known::default();
    let mut waiting: Vec<(usize, Header)> = Vec::new();
    for (at, file) in files.iter().enumerate() {
        // Most parts go into nothing, and need not be read twice.
        match file.text.contains("fit").then(|| header(&file.text)) {
            Some(header) if header.into.is_some() => waiting.push((at, header)),
            _ => known.add(files, at, rules, None),
        }
    }
    while !waiting.is_empty() {
        let pending = |id: &PartId| {
            waiting
                .iter()
                .any(|(_, header)| header.part.as_ref() == Some(id))
        };
        let ready = waiting
            .iter()
            .position(|(_, header)| !header.into.as_ref().is_some_and(pending));
        match ready {
            Some(index) => {
                let (at, _) = waiting.remove(index);
                known.add(files, at, rules, None);
            }
            // All that is left goes into one another, or into those.
            None => {
                let names: Vec<String> = waiting
                    .iter()
                    .filter_map(|(_, header)| {
                        Some(format!(
                            "{} into {}",
                            header.part.as_ref()?,
                            header.into.as_ref()?
                        ))
                    })
                    .collect();
                let names = names.join(", ");
                for (at, _) in std::mem::take(&mut waiting) {
                    known.add(files, at, rules, Some(&names));
                }
            }
        }
    }
    known.parts.sort_by_key(|part| part.file);
    known.mistakes.sort_by_key(|(file, _)| *file);
    let mistakes = known.mistakes.into_iter().flat_map(|(_, told)| told);
    (known.parts, mistakes.collect())
}

/// What has been computed.
#[derive(Default)]
struct Known {
    parts: Vec<Part>,
    /// Of each name, its place in `parts`; nothing where its file has mistakes.
    names: BTreeMap<PartId, (usize, Option<usize>)>,
    mistakes: Vec<(usize, Vec<Mistake>)>,
}

impl Known {
    fn add(&mut self, files: &[PartFile], at: usize, rules: &BuildRules, circle: Option<&str>) {
        let file = &files[at];
        let mate = |id: &PartId| match (circle, self.names.get(id)) {
            (Some(way), _) => Mate::Circle(way),
            (None, None) => Mate::Missing,
            (None, Some((_, None))) => Mate::Faulty,
            (None, Some((_, Some(part)))) => Mate::Plan(&self.parts[*part].plan),
        };
        let part = match compute(&file.name, &file.text, rules, &Mates::known(&mate)) {
            Ok(computed) => Ok(followed(file, rules, computed, &Mates::known(&mate))),
            Err(mistakes) => Err(mistakes),
        };
        let (id, part) = match part {
            Ok((plan, taken)) => {
                let part = Part {
                    plan,
                    file: at,
                    taken,
                };
                (Some(part.plan.part.clone()), Some(part))
            }
            Err(mistakes) => {
                self.mistakes.push((at, mistakes));
                (header(&file.text).part, None)
            }
        };
        let Some(id) = id else { return };
        if let Some((first, _)) = self.names.get(&id) {
            // One with mistakes of its own is told those first.
            if part.is_some() {
                let what = format!(
                    "part: {id} is defined in {} too, expected one file a part",
                    files[*first].name
                );
                let line = line_of_part(&file.text);
                let file = file.name.clone();
                self.mistakes.push((at, vec![Mistake { file, line, what }]));
            }
            return;
        }
        let place = part.map(|part| {
            self.parts.push(part);
            self.parts.len() - 1
        });
        self.names.insert(id, (at, place));
    }
}

/// The plan with what follows from the mating part said of each characteristic, and what was taken.
fn followed(
    file: &PartFile,
    rules: &BuildRules,
    computed: Computed,
    mates: &Mates<'_>,
) -> (PartPlan, Vec<Taken>) {
    let Computed { mut plan, fitted } = computed;
    let Some(fitted) = fitted else {
        return (plan, Vec::new());
    };
    let mut taken = Vec::new();
    let openings = [fitted.openings.width, fitted.openings.height];
    for (id, opening) in fitted.from.iter().zip(openings) {
        let (Some(id), Some(opening)) = (id, opening) else {
            continue;
        };
        taken.push(Taken {
            part: fitted.fit.into.clone(),
            characteristic: id.clone(),
            nominal: Quantity::Length(opening),
        });
        // The same opening may give both.
        if taken.iter().filter(|one| one.characteristic == *id).count() == 1 {
            follow(file, rules, &mut plan, &fitted, (id, opening), mates);
        }
    }
    (plan, taken)
}

/// Says of every characteristic that moves with an opening that it does, and notes those that move with it
/// one for one where the measured opening is to be followed.
fn follow(
    file: &PartFile,
    rules: &BuildRules,
    plan: &mut PartPlan,
    fitted: &Fitted,
    (id, opening): (&CharacteristicId, Length),
    mates: &Mates<'_>,
) {
    let Mate::Plan(mate) = (mates.find)(&fitted.fit.into) else {
        return;
    };
    let moved = [PROBE_PM, -PROBE_PM].into_iter().find_map(|step| {
        let opened = opened(mate, id, step)?;
        let find = |_: &PartId| Mate::Plan(&opened);
        let mates = Mates {
            find: &find,
            sureness: Sureness::Moved,
        };
        let computed = compute(&file.name, &file.text, rules, &mates).ok()?;
        Some((step, computed.plan))
    });
    let Some((step, moved)) = moved else { return };
    for (c, other) in plan.characteristics.iter_mut().zip(&moved.characteristics) {
        let by = other.nominal.raw() - c.nominal.raw();
        if c.id != other.id || by == 0 {
            continue;
        }
        let one_for_one =
            matches!(c.nominal, Quantity::Length(_)) && (by - step).abs() <= PROBE_SLACK_PM;
        let follows = fitted.is_measured() && one_for_one && c.derived.is_none();
        let how = match (fitted.is_measured(), follows) {
            (false, _) => "as planned",
            (true, true) => "as planned until the mating piece is named and measured",
            (true, false) => {
                "as planned: it does not move one for one with the opening as measured"
            }
        };
        c.rule = format!(
            "{}; the opening is {id} of {}, {opening}, less the clearance of {} on each side, {how}",
            c.rule, fitted.fit.into, fitted.fit.clearance
        );
        if follows {
            c.follows = Some(Follows {
                characteristic: id.clone(),
                planned: Quantity::Length(opening),
            });
        }
    }
}

/// The mating part with one of its lengths moved.
fn opened(mate: &PartPlan, id: &CharacteristicId, step: i64) -> Option<PartPlan> {
    let mut opened = mate.clone();
    let c = opened.characteristics.iter_mut().find(|c| c.id == *id)?;
    c.nominal = c.nominal.with_raw(c.nominal.raw() + step)?;
    Some(opened)
}

/// What a file says of itself before anything is computed, as far as it can be read.
#[derive(Default)]
struct Header {
    part: Option<PartId>,
    into: Option<PartId>,
}

fn header(text: &str) -> Header {
    let mut header = Header::default();
    // Mistakes are told when the part is computed.
    let read = form::read("", text, |root| {
        header.part = root.may("part").parsed("");
        if root.has("fit") {
            let fit = root.may("fit").table();
            header.into = fit.and_then(|fit| fit.may("into").parsed(""));
        }
        Some(())
    });
    drop(read);
    header
}

/// Where the part says its name.
fn line_of_part(text: &str) -> usize {
    let key = |line: &str| {
        line.split('=')
            .next()
            .is_some_and(|key| key.trim() == "part")
    };
    text.lines().position(key).map_or(1, |index| index + 1)
}
