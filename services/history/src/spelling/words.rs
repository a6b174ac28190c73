//! The stored spelling of single values: words of closed enumerations, names, whole numbers, text.
//! Every one is checked again on the way in.

use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

use serde::de::{Error, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use shared_types::{
    Angle, BendWay, DisplayUnits, Disposition, Faces, FitSource, Form, Garbled, GaugeKind,
    GaugeState, HeldReason, Layer, Length, NoReading, NotCorrected, Quantity, SpreadWord, Stage,
    TemperatureOf, Unit, Verdict, Via,
};

/// An enumeration whose variants are stored as words of our own, so that renaming one in the shared
/// types can never change what is on disk.
pub(super) trait Words: Sized {
    /// All words, in the order of the variants.
    #[cfg(test)]
    const ALL: &[&str];
    fn word(&self) -> &'static str;
    fn of(word: &str) -> Option<Self>;
}

macro_rules! words {
    ($($type:ty { $($variant:ident = $word:literal),+ $(,)? })+) => {$(
        impl Words for $type {
            #[cfg(test)]
            const ALL: &[&str] = &[$($word),+];
            fn word(&self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
            fn of(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$variant),)+ _ => None }
            }
        }
    )+};
}

words! {
    BendWay { Up = "up", Down = "down" }
    Disposition { Rework = "rework", UseAsIs = "as-is", Scrap = "scrap" }
    DisplayUnits { Mm = "mm", In = "in", InFractions = "in-fractions" }
    Faces { Outside = "outside", Inside = "inside", Depth = "depth" }
    FitSource { Plan = "plan", Measured = "measured" }
    Form { Complement = "complement", Supplement = "supplement", OtherSign = "other-sign" }
    Garbled {
        Grammar = "grammar", Range = "range", Unit = "unit", Oversize = "oversize", Cut = "cut",
        Retained = "retained", Json = "json", Name = "name", Device = "device",
        Battery = "battery", Overflow = "overflow", Channel = "channel", NoAnswer = "no-answer",
    }
    GaugeKind { Caliper = "caliper", AngleGauge = "angle-gauge" }
    GaugeState {
        Unknown = "unknown", Connected = "connected", Unplugged = "unplugged", Offline = "offline",
        Silent = "silent",
    }
    HeldReason {
        NothingOnBench = "nothing-on-bench", NothingDue = "nothing-due", FitsNothing = "fits-nothing",
        FitsAnother = "fits-another", FitsTwo = "fits-two", WrongUnit = "wrong-unit",
        UnknownGauge = "unknown-gauge", IdReused = "id-reused", PerhapsRepeat = "perhaps-repeat",
        PressedTwice = "pressed-twice", OtherLeg = "other-leg", OtherSign = "other-sign",
        NotZeroed = "not-zeroed", OtherBench = "other-bench",
    }
    Layer { Cut = "cut", Bend = "bend", Section = "section", Hidden = "hidden" }
    NoReading { Bounce = "bounce", Unsettled = "unsettled", Echo = "echo", TooFast = "too-fast" }
    NotCorrected {
        NoTemperature = "no-temperature", NoPieceTemperature = "no-piece-temperature",
        NoGaugeTemperature = "no-gauge-temperature", NoExpansion = "no-expansion",
        OutOfRange = "out-of-range",
    }
    Stage {
        Blocks = "blocks", Blank = "blank", Formed = "formed", Trimmed = "trimmed", FitUp = "fit-up",
    }
    TemperatureOf { Piece = "piece", Gauge = "gauge", Both = "both" }
    Unit {
        Micrometre = "um", Millimetre = "mm", Centimetre = "cm", Metre = "m", Inch = "in", Degree = "deg",
    }
    SpreadWord { Normal = "normal", Rectangular = "rect", Triangular = "tri", UShaped = "u" }
    Verdict { Pass = "pass", TooSmall = "small", TooLarge = "large", Undecided = "undecided" }
    Via { Serial = "serial", Mqtt = "mqtt", MqttAgain = "mqtt-again", Typed = "typed" }
}

/// A word of a closed enumeration.
pub(super) struct Word<T>(pub(super) T);

impl<T: Words> Serialize for Word<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0.word())
    }
}

impl<'de, T: Words> Deserialize<'de> for Word<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_str(TextVisitor(
            |text: &str| T::of(text).map(Word).ok_or("a word of the stored spelling"),
            PhantomData,
        ))
    }
}

/// A name that its own type checks.
pub(super) struct Name<T>(pub(super) T);

impl<T: fmt::Display> Serialize for Name<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

impl<'de, T: FromStr> Deserialize<'de> for Name<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_str(TextVisitor(
            |text: &str| text.parse().map(Name).map_err(|_| "a name"),
            PhantomData,
        ))
    }
}

/// Reads a text without making a `String` of it first: a million of them are read at start-up.
struct TextVisitor<F, T>(F, PhantomData<T>);

impl<F: Fn(&str) -> Result<T, &'static str>, T> Visitor<'_> for TextVisitor<F, T> {
    type Value = T;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a text")
    }
    fn visit_str<E: Error>(self, text: &str) -> Result<T, E> {
        (self.0)(text)
            .map_err(|expected| E::custom(format_args!("found {text:?}, expected {expected}")))
    }
}

/// Free text, borrowed where nothing in it is escaped.
#[derive(Serialize, Deserialize)]
#[serde(transparent)]
pub(super) struct Text<'a>(#[serde(borrow)] pub(super) Cow<'a, str>);

impl<'a> From<&'a str> for Text<'a> {
    fn from(text: &'a str) -> Self {
        Self(Cow::Borrowed(text))
    }
}

impl From<Text<'_>> for String {
    fn from(text: Text<'_>) -> Self {
        text.0.into_owned()
    }
}

/// Picometres.
pub(super) struct Pm(pub(super) Length);

impl Serialize for Pm {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_i64(self.0.pm())
    }
}

impl<'de> Deserialize<'de> for Pm {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Length::from_pm(i64::deserialize(deserializer)?)
            .map(Pm)
            .ok_or_else(|| D::Error::custom("a length beyond 1 km"))
    }
}

/// Milliarcseconds.
pub(super) struct Mas(pub(super) Angle);

impl Serialize for Mas {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_i64(self.0.mas())
    }
}

impl<'de> Deserialize<'de> for Mas {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Angle::from_mas(i64::deserialize(deserializer)?)
            .map(Mas)
            .ok_or_else(|| D::Error::custom("an angle beyond 3600 degrees"))
    }
}

/// A length or an angle, with its grain: `{"pm":12700000000}`.
#[derive(Serialize, Deserialize)]
pub(super) enum Value {
    #[serde(rename = "pm")]
    Length(Pm),
    #[serde(rename = "mas")]
    Angle(Mas),
}

impl From<Quantity> for Value {
    fn from(quantity: Quantity) -> Self {
        match quantity {
            Quantity::Length(length) => Self::Length(Pm(length)),
            Quantity::Angle(angle) => Self::Angle(Mas(angle)),
        }
    }
}

impl From<Value> for Quantity {
    fn from(value: Value) -> Self {
        match value {
            Value::Length(Pm(length)) => Self::Length(length),
            Value::Angle(Mas(angle)) => Self::Angle(angle),
        }
    }
}
