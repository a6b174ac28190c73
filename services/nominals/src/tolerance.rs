//! Tolerances stated in the part file, for one characteristic or for all below a prefix.

use std::collections::BTreeSet;

use shared_types::{Angle, Length, Quantity};

use crate::draft::{Draft, Nominal};
use crate::form::{At, Table, nearest};

/// All `[[tolerance]]` of a part, in the order of the file: the last that matches wins.
pub(crate) struct Stated(Vec<One>);

struct One {
    of: String,
    plus: Quantity,
    minus: Quantity,
    at: At,
}

impl Stated {
    /// Reads them, telling mistakes.
    pub(crate) fn read(root: &Table<'_>) -> Self {
        let tables = root.may("tolerance").tables();
        Self(tables.iter().filter_map(one).collect())
    }

    /// Plus and minus of a characteristic. One of the wrong kind is told elsewhere and passed over here.
    pub(crate) fn of(&self, id: &str, nominal: Quantity) -> Option<(Quantity, Quantity)> {
        let matching = self.0.iter().rev().find(|one| one.names(id))?;
        matching
            .plus
            .same_kind(nominal)
            .then_some((matching.plus, matching.minus))
    }

    /// Tells every one that names nothing, or names a length and states an angle.
    pub(crate) fn tell_unmatched(&self, drafts: &[&Draft], root: &Table<'_>) {
        for (before, one) in self.0.iter().enumerate() {
            if self.0[..before].iter().any(|other| other.of == one.of) {
                let what = format!(
                    "tolerance.of: found {:?} a second time, expected one tolerance for it",
                    one.of
                );
                root.tell(one.at, what);
                continue;
            }
            let mut named = drafts
                .iter()
                .filter(|draft| one.names(&draft.id))
                .peekable();
            if named.peek().is_none() {
                let known = spellings(drafts);
                let meant = nearest(&one.of, known.iter().map(String::as_str));
                let meant =
                    meant.map_or_else(String::new, |meant| format!("; did you mean {meant:?}?"));
                let what = format!(
                    "tolerance.of: found {:?}, which names nothing of this part, expected one characteristic such as \
                     \"blank.width\" or the beginning of several such as \"formed.height.*\"{meant}",
                    one.of
                );
                root.tell(one.at, what);
            } else if let Some(other) = named.clone().find(|draft| {
                // A beginning may name some that have their own limits; one by its whole name contradicts them.
                draft.own.is_some() && draft.id == one.of
            }) {
                let what = format!(
                    "tolerance.of: found {:?}, which states its limits itself, expected them in one place",
                    other.id
                );
                root.tell(one.at, what);
            } else if let Some(other) = named.find(|draft| !one.fits(draft)) {
                let (is, states) = match other.nominal {
                    Nominal::Angle(..) => ("an angle", "lengths"),
                    Nominal::Length(_) | Nominal::Radius(_) | Nominal::Gap(_) => {
                        ("a length", "angles")
                    }
                };
                let what = format!(
                    "tolerance.of: found {:?} with plus and minus as {states}, but {} is {is}; name fewer, or state its tolerance in its own [[tolerance]]",
                    one.of, other.id
                );
                root.tell(one.at, what);
            }
        }
    }
}

/// Every way to name something of this part: each id, and each beginning of one.
fn spellings(drafts: &[&Draft]) -> BTreeSet<String> {
    let mut known = BTreeSet::new();
    for draft in drafts {
        known.insert(draft.id.clone());
        for (at, _) in draft.id.match_indices('.') {
            known.insert(format!("{}.*", &draft.id[..at]));
        }
    }
    known
}

impl One {
    /// `formed.height.*` names all that begin with `formed.height.`.
    fn names(&self, id: &str) -> bool {
        match self.of.strip_suffix('*') {
            Some(prefix) if prefix.ends_with('.') => id.starts_with(prefix),
            _ => id == self.of,
        }
    }

    fn fits(&self, draft: &Draft) -> bool {
        matches!(
            (self.plus, draft.nominal),
            (
                Quantity::Length(_),
                Nominal::Length(_) | Nominal::Radius(_) | Nominal::Gap(_)
            ) | (Quantity::Angle(_), Nominal::Angle(..))
        )
    }
}

fn one(table: &Table<'_>) -> Option<One> {
    table.only(&["of", "plus", "minus"]);
    let of = table.need("of").text();
    let plus = deviation(table, "plus");
    let minus = deviation(table, "minus");
    let (of, plus, minus) = (of?, plus?, minus?);
    if !plus.same_kind(minus) {
        let (found, expected) = match plus {
            Quantity::Length(_) => ("an angle", "a length"),
            Quantity::Angle(_) => ("a length", "an angle"),
        };
        let what = format!("found {found}, expected {expected}, as plus is one");
        table.wrong("minus", what);
        return None;
    }
    Some(One {
        of,
        plus,
        minus,
        at: table.at_of("of"),
    })
}

/// A length or an angle, zero or above: the key says which way it goes.
fn deviation(table: &Table<'_>, name: &str) -> Option<Quantity> {
    let expected = "a length or an angle with its unit such as \"0.2 mm\" or \"1°30'\"";
    let written: Written = table.need(name).parsed(expected)?;
    let zero = [Quantity::Length(Length::ZERO), Quantity::Angle(Angle::ZERO)];
    let negative = zero
        .iter()
        .any(|zero| written.0.compare(*zero) == Some(std::cmp::Ordering::Less));
    if negative {
        let what = format!(
            "found {}, expected no sign: the key says the direction",
            written.0
        );
        table.wrong(name, what);
        return None;
    }
    Some(written.0)
}

struct Written(Quantity);

impl std::str::FromStr for Written {
    type Err = shared_types::QuantityError;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Quantity::parse(text).map(Self)
    }
}
