//! Decision rules stated in the part file, for one characteristic or for all below a prefix.

use shared_types::{Characteristic, Rule};

use crate::form::{At, Table, nearest};

/// All `[[decision]]` of a part, in the order of the file: the last that matches wins.
pub(crate) struct Decisions(Vec<One>);

struct One {
    of: String,
    rule: Rule,
    at: At,
}

impl Decisions {
    /// Reads them, telling mistakes.
    pub(crate) fn read(root: &Table<'_>) -> Self {
        let tables = root.may("decision").tables();
        let one = |table: &Table<'_>| {
            table.only(&["of", "rule"]);
            let of = table.need("of").text();
            let rule = table
                .need("rule")
                .parsed::<Rule>("\"plain\", \"guarded\", \"guarded 97.5 %\" or \"ratio 4\"");
            Some(One {
                of: of?,
                rule: rule?,
                at: table.at_of("of"),
            })
        };
        Self(tables.iter().filter_map(one).collect())
    }

    /// Gives each characteristic its rule; tells every one that names nothing, and a ratio where there is one limit only.
    pub(crate) fn settle(&self, characteristics: &mut [Characteristic], root: &Table<'_>) {
        for one in &self.0 {
            if !characteristics.iter().any(|c| one.names(c.id.as_str())) {
                let known = characteristics.iter().map(|c| c.id.as_str());
                let meant = nearest(&one.of, known);
                let meant =
                    meant.map_or_else(String::new, |meant| format!("; did you mean {meant:?}?"));
                let what = format!(
                    "decision.of: found {:?}, which names nothing of this part, expected one characteristic such as \
                     \"blank.width\" or the beginning of several such as \"formed.height.*\"{meant}",
                    one.of
                );
                root.tell(one.at, what);
            }
        }
        for c in characteristics {
            let Some(one) = self.0.iter().rev().find(|one| one.names(c.id.as_str())) else {
                continue;
            };
            c.decision = Some(one.rule);
            let two = c.limits.lower().is_some() && c.limits.upper().is_some();
            if matches!(one.rule, Rule::Ratio(_)) && !two {
                let what = format!(
                    "decision.rule: found {:?} for {}, which has one limit only, expected \"guarded\" or \"plain\" there",
                    one.rule.to_string(),
                    c.id
                );
                root.tell(one.at, what);
            }
        }
    }
}

impl One {
    /// `formed.height.*` names all that begin with `formed.height.`.
    fn names(&self, id: &str) -> bool {
        match self.of.strip_suffix('*') {
            Some(prefix) if prefix.ends_with('.') => id.starts_with(prefix),
            _ => id == self.of,
        }
    }
}
