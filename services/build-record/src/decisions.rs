//! What people decided: about fails, and about beginning a piece before its first article is released; and how
//! far each piece and each first article is.

use serde::Serialize;
use shared_types::{
    BenchId, CharacteristicId, Disposition, Entry, Event, Hand, PartPlan, PieceId, Seq, Shop, Stage,
};

use crate::ledger::Ledger;
use crate::when::when;

/// A disposition, with what a person did to it later.
pub(crate) struct Decision<'a> {
    pub(crate) at_us: i64,
    pub(crate) bench: &'a BenchId,
    /// Who was named at the bench.
    pub(crate) operator: &'a str,
    pub(crate) piece: &'a PieceId,
    pub(crate) characteristic: Option<&'a CharacteristicId>,
    pub(crate) reading: Option<Seq>,
    pub(crate) disposition: Disposition,
    /// Who decided.
    pub(crate) by: &'a str,
    pub(crate) reason: &'a str,
    /// The entry by which it was taken back.
    pub(crate) voided: Option<Seq>,
}

impl<'a> Decision<'a> {
    pub(crate) fn new(entry: &'a Entry, operator: &'a str) -> Option<Self> {
        let Event::Disposed {
            bench,
            piece,
            characteristic,
            reading,
            disposition,
            by,
            reason,
        } = &entry.fact.event
        else {
            return None;
        };
        Some(Self {
            at_us: entry.fact.at_us,
            bench,
            operator,
            piece,
            characteristic: characteristic.as_ref(),
            reading: *reading,
            disposition: *disposition,
            by,
            reason,
            voided: None,
        })
    }

    /// What was decided, as a sentence.
    pub(crate) fn told(&self) -> String {
        let of = self.reading.map(|reading| format!(" of entry {reading}"));
        let back = self.voided.map(|by| format!(", taken back by entry {by}"));
        let caution = match self.disposition {
            Disposition::UseAsIs => format!(" ({USE_AS_IS})"),
            Disposition::Rework | Disposition::Scrap => String::new(),
        };
        format!(
            "{}{}{caution}{}",
            self.disposition,
            of.unwrap_or_default(),
            back.unwrap_or_default()
        )
    }
}

/// What using a part as it is does not say.
pub(crate) const USE_AS_IS: &str =
    "for the builder's own record; the plans, the designer and the inspector decide";

/// A piece begun for a stated reason before its first article was released.
pub(crate) struct Begun<'a> {
    pub(crate) at_us: i64,
    pub(crate) bench: &'a BenchId,
    pub(crate) operator: &'a str,
    pub(crate) piece: &'a PieceId,
    pub(crate) stage: Stage,
    pub(crate) reason: &'a str,
}

/// How far a piece is, in words.
pub(crate) fn piece_told(shop: &Shop, piece: &PieceId) -> String {
    if let Some(scrap) = shop.scrapped(piece) {
        return format!(
            "scrapped by {}, entry {}: {}",
            scrap.by, scrap.seq, scrap.reason
        );
    }
    let open = shop.left_open(piece);
    if open.is_empty() {
        return "complete: nothing is open".to_owned();
    }
    let failed = open.iter().filter(|open| open.stands.is_some()).count();
    format!(
        "open: {} not measured, {failed} measured and not right",
        open.len() - failed
    )
}

/// The first article of each part and hand that was begun, and whether the others are released.
pub(crate) fn first_articles<'a>(ledger: &Ledger<'a>) -> Vec<FirstArticleRecord<'a>> {
    let plans = ledger
        .newest
        .values()
        .filter_map(|seq| ledger.plans.get(seq));
    let mut records = Vec::new();
    for plan in plans.copied() {
        for hand in [None, Some(Hand::Left), Some(Hand::Right)] {
            records.extend(FirstArticleRecord::new(&ledger.shop, plan, hand));
        }
    }
    records
}

/// How far a first article is.
#[derive(Serialize)]
pub(crate) struct FirstArticleRecord<'a> {
    part: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    hand: Option<Hand>,
    /// The first article, or the one the batch was released by.
    pub(crate) piece: Option<PieceId>,
    /// The entry that completed it.
    pub(crate) released: Option<Seq>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) at: Option<String>,
    /// What it lacks.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) lacks: Option<String>,
    /// Characteristics whose nominal or limits have changed since, or that came since; `null` where the revision
    /// it was released by is too long ago to say.
    #[serde(skip_serializing_if = "is_nothing")]
    pub(crate) changed_since: Option<Vec<CharacteristicId>>,
}

fn is_nothing(changed: &Option<Vec<CharacteristicId>>) -> bool {
    changed.as_ref().is_some_and(Vec::is_empty)
}

impl<'a> FirstArticleRecord<'a> {
    fn new(shop: &Shop, plan: &'a PartPlan, hand: Option<Hand>) -> Option<Self> {
        let any = PieceId::new(plan.part.clone(), 1).ok()?;
        let any = match hand {
            Some(hand) => any.handed(hand),
            None => any,
        };
        let batch = shop.batch(&any)?;
        let released = batch.released.as_ref();
        let piece = released.map(|r| &r.piece).or(batch.first.as_ref());
        Some(Self {
            part: plan.part.as_str(),
            hand,
            piece: piece.cloned(),
            released: released.map(|r| r.seq),
            at: released.map(|r| when(r.at_us)),
            lacks: shop.lacking(&any).map(|lacks| lacks.to_string()),
            changed_since: match released {
                Some(released) => shop.changed_since_release(released),
                None => Some(Vec::new()),
            },
        })
    }

    /// In words.
    pub(crate) fn told(&self) -> String {
        match (self.released, &self.lacks) {
            (Some(seq), _) => {
                let since = match &self.changed_since {
                    Some(changed) if changed.is_empty() => String::new(),
                    Some(changed) => {
                        let ids: Vec<&str> = changed.iter().map(CharacteristicId::as_str).collect();
                        format!("; nominal or limits changed since: {}", ids.join(" "))
                    }
                    None => "; by an earlier revision of the part".to_owned(),
                };
                format!("released by entry {seq}{since}")
            }
            (None, Some(lacks)) => format!("not released; it lacks {lacks}"),
            (None, None) => "not released; none is begun".to_owned(),
        }
    }
}

/// A disposition in the record.
#[derive(Serialize)]
pub(crate) struct DecisionRecord<'a> {
    entry: Seq,
    at: String,
    bench: &'a str,
    operator: &'a str,
    piece: &'a PieceId,
    characteristic: Option<&'a str>,
    reading: Option<Seq>,
    disposition: Disposition,
    by: &'a str,
    reason: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    taken_back_by: Option<Seq>,
    #[serde(skip_serializing_if = "Option::is_none")]
    caution: Option<&'static str>,
}

impl<'a> DecisionRecord<'a> {
    pub(crate) fn new(entry: Seq, decision: &Decision<'a>) -> Self {
        Self {
            entry,
            at: when(decision.at_us),
            bench: decision.bench.as_str(),
            operator: decision.operator,
            piece: decision.piece,
            characteristic: decision.characteristic.map(CharacteristicId::as_str),
            reading: decision.reading,
            disposition: decision.disposition,
            by: decision.by,
            reason: decision.reason,
            taken_back_by: decision.voided,
            caution: (decision.disposition == Disposition::UseAsIs).then_some(USE_AS_IS),
        }
    }
}

/// A piece begun early in the record.
#[derive(Serialize)]
pub(crate) struct BegunRecord<'a> {
    entry: Seq,
    at: String,
    bench: &'a str,
    operator: &'a str,
    piece: &'a PieceId,
    stage: Stage,
    reason: &'a str,
}

impl<'a> BegunRecord<'a> {
    pub(crate) fn new(entry: Seq, begun: &Begun<'a>) -> Self {
        Self {
            entry,
            at: when(begun.at_us),
            bench: begun.bench.as_str(),
            operator: begun.operator,
            piece: begun.piece,
            stage: begun.stage,
            reason: begun.reason,
        }
    }
}
