//! How checks of gauges, and the readings that count between them, are folded into the shop.

use crate::{
    BenchId, Check, Checking, Checks, Counted, Entry, Event, Finding, GaugeId, GaugeSetup,
    Observation, Reading, Seq, Shop,
};

impl Shop {
    /// A gauge as configured.
    #[must_use]
    pub fn gauge_setup(&self, gauge: &GaugeId) -> Option<&GaugeSetup> {
        self.setup.as_ref()?.gauges.iter().find(|g| &g.id == gauge)
    }

    /// The checks of a gauge; `None` where it was never seen.
    #[must_use]
    pub fn checks(&self, gauge: &GaugeId) -> Option<&Checks> {
        self.gauges.get(gauge).map(|sight| &sight.checks)
    }

    /// The gauge of which entry `seq` is a check that counts.
    #[must_use]
    pub fn checked_by(&self, seq: Seq) -> Option<&GaugeId> {
        self.gauges.iter().find_map(|(gauge, sight)| {
            let mut checks = sight.checks.all();
            checks.any(|check| check.seq == seq).then_some(gauge)
        })
    }

    pub(crate) fn check_acts(&mut self, event: &Event) {
        match event {
            Event::CheckBegun {
                bench,
                gauge,
                reference,
            } => {
                let found = self
                    .gauge_setup(gauge)
                    .and_then(|setup| setup.trust.reference(reference, setup.kind?));
                self.sight(gauge).checks.checking = found.map(|reference| Checking {
                    bench: bench.clone(),
                    reference,
                });
            }
            Event::CheckLeft { gauge, .. } => self.sight(gauge).checks.checking = None,
            _ => {}
        }
    }

    /// A reading that was a check.
    pub(crate) fn checked(&mut self, entry: &Entry, observation: &Observation, reading: &Reading) {
        let Finding::Checked {
            reference,
            wanted,
            limit,
            verdict,
        } = &entry.fact.finding
        else {
            return;
        };
        let check = Check {
            seq: entry.seq,
            at_us: entry.fact.at_us,
            reference: reference.clone(),
            wanted: *wanted,
            value: reading.value,
            limit: *limit,
            verdict: *verdict,
        };
        self.sight(&observation.gauge).checks.checked(check);
    }

    /// A reading counts: from here on it may come into doubt.
    pub(crate) fn counts(&mut self, from: Option<(GaugeId, i64)>, reading: Seq, found: &Finding) {
        let (
            Some((gauge, at_us)),
            Finding::Judged {
                piece,
                characteristic,
                value,
                verdict,
                ..
            },
        ) = (from, found)
        else {
            return;
        };
        let counted = Counted {
            at_us,
            piece: piece.clone(),
            characteristic: characteristic.clone(),
            value: *value,
            verdict: *verdict,
        };
        self.sight(&gauge).checks.counted(reading, counted);
    }

    /// A person says what a reading is of. One that waited because its gauge seemed not to be at nought counts as it
    /// stands: so much off is the part's own, and not asked again.
    pub(crate) fn assigned(&mut self, bench: &BenchId, reading: Seq, finding: &Finding) {
        let from = self.came_from(reading);
        let held = self.benches.values().find_map(|b| b.held.get(&reading));
        if let (
            Some((gauge, _)),
            Some(held),
            Finding::Judged {
                piece,
                characteristic,
                ..
            },
        ) = (&from, held, finding)
            && let Some(by) = held.offset.as_ref().map(|offset| offset.by)
            // As another dimension it is off by another amount, and says nothing of the gauge.
            && held.candidates.iter().any(|may| &may.characteristic == characteristic)
        {
            let checks = &mut self.sight(gauge).checks;
            checks.usual = Some((piece.part().clone(), by));
        }
        self.forget(reading);
        self.counts(from, reading, finding);
        self.judged(bench, reading, finding);
    }

    /// From which gauge a reading came, held or counting, and when.
    /// The gauge a reading came from, where it is remembered.
    #[must_use]
    pub fn gauge_of(&self, reading: Seq) -> Option<GaugeId> {
        self.came_from(reading).map(|(gauge, _)| gauge)
    }

    pub(crate) fn came_from(&self, reading: Seq) -> Option<(GaugeId, i64)> {
        let mut waiting = self.benches.values().map(|bench| &bench.held);
        let held = waiting
            .find_map(|held| held.get(&reading))
            .or_else(|| self.stray.get(&reading));
        let counting = || {
            self.gauges.iter().find_map(|(gauge, sight)| {
                let at_us = sight.checks.at_us(reading)?;
                Some((gauge.clone(), at_us))
            })
        };
        held.map(|held| (held.gauge.clone(), held.at_us))
            .or_else(counting)
    }
}
