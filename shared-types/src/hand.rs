//! What differs on the right piece of a pair: words and views. Ids, numbers, nominals and limits never do.

use std::borrow::Cow;

use serde::{Deserialize, Serialize};

use crate::{Characteristic, CharacteristicId, Hand, PartPlan, View};

/// The right piece of a pair.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mirrored {
    /// In the order of the plan's characteristics, one for each.
    pub words: Vec<Words>,
    /// Every view of the plan, mirrored.
    pub views: Vec<View>,
}

/// The words of a characteristic of the right piece; each means what it means in [`Characteristic`].
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Words {
    /// Plain name.
    pub name: String,
    /// How to measure it.
    pub how: String,
    /// What to do about a piece that measures too small.
    pub if_small: String,
    /// What to do about a piece that measures too large.
    pub if_large: String,
}

/// The words of a characteristic of one hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spoken<'a> {
    /// Plain name.
    pub name: &'a str,
    /// How to measure it.
    pub how: &'a str,
    /// What to do about a piece that measures too small.
    pub if_small: &'a str,
    /// What to do about a piece that measures too large.
    pub if_large: &'a str,
}

impl PartPlan {
    /// How a characteristic is spoken of on a piece of that hand.
    #[must_use]
    pub fn words(&self, id: &CharacteristicId, hand: Option<Hand>) -> Option<Spoken<'_>> {
        let at = self.characteristics.iter().position(|c| &c.id == id)?;
        let right = self.right(hand).and_then(|right| right.words.get(at));
        Some(right.map_or_else(
            || {
                let c = &self.characteristics[at];
                Spoken {
                    name: &c.name,
                    how: &c.how,
                    if_small: &c.if_small,
                    if_large: &c.if_large,
                }
            },
            |right| Spoken {
                name: &right.name,
                how: &right.how,
                if_small: &right.if_small,
                if_large: &right.if_large,
            },
        ))
    }

    /// What to draw of a piece of that hand.
    #[must_use]
    pub fn views(&self, hand: Option<Hand>) -> &[View] {
        self.right(hand).map_or(&self.views, |right| &right.views)
    }

    /// The plan in the words and views of that hand.
    #[must_use]
    pub fn of_hand(&self, hand: Option<Hand>) -> Cow<'_, Self> {
        let Some(right) = self.right(hand) else {
            return Cow::Borrowed(self);
        };
        let mut words = right.words.iter();
        let characteristics = self.characteristics.iter().map(|c| match words.next() {
            Some(right) => Characteristic {
                name: right.name.clone(),
                how: right.how.clone(),
                if_small: right.if_small.clone(),
                if_large: right.if_large.clone(),
                ..c.clone()
            },
            None => c.clone(),
        });
        Cow::Owned(Self {
            characteristics: characteristics.collect(),
            views: right.views.clone(),
            ..self.clone()
        })
    }

    fn right(&self, hand: Option<Hand>) -> Option<&Mirrored> {
        self.mirrored.as_ref().filter(|_| hand == Some(Hand::Right))
    }
}
