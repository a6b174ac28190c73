//! The nouns every room of oddleg shares. This crate alone knows what a length, a limit, a
//! characteristic, a reading, an event, a finding and the state of the shop *are*. Values only:
//! no clock, no file, no socket, no await and no float.

mod angle;
mod became;
mod bench;
mod checks;
mod climate;
mod complete;
mod day;
mod decision;
mod derived;
mod dialect_text;
mod disposition;
mod doubt;
mod entry;
mod event;
mod expansion;
mod finding;
mod fit;
mod form;
mod grounds;
mod hand;
mod ids;
mod length;
mod limits;
mod mistake;
mod number;
mod piece;
mod plan;
mod quantity;
mod reading;
mod release;
mod revision;
mod shop;
mod show;
mod sketch;
mod stated;
mod study;
mod submission;
mod temperature;
mod tried;
mod trust;

pub use angle::{ANGLE_MAX_MAS, Angle};
pub use bench::{Became, Bench, Due, GaugeSight, HELD_KEPT_MAX, Held, Last};
pub use checks::{CHECKS_KEPT_MAX, Check, Checking, Checks, Counted, SUSPECTS_KEPT_MAX, Suspects};
pub use climate::{Climate, Correction, Felt, NotCorrected, TemperatureOf, Temperatures, Warmth};
pub use complete::Open;
pub use day::{Day, NoDay};
pub use decision::{NoRule, Probability, RATIO_MAX, Rule};
pub use derived::{Derived, MEAN_READINGS_MAX, MEAN_READINGS_MIN};
pub use dialect_text::printable;
pub use disposition::{DISPOSED_KEPT_MAX, DISPOSITIONS, Disposed, Disposition};
pub use entry::{Entry, Fact};
pub use event::{Event, GaugeSetup, GaugeState, Setup};
pub use expansion::{EXPANSION_MAX_E9, Expansion, NoExpansion, StatedExpansion};
pub use finding::{
    Candidate, DerivedFinding, Finding, FittedNominal, HeldReason, SameOffset, Verdict,
};
pub use fit::{Fit, FitSource, Follows};
pub use form::Form;
pub use grounds::{
    CHANCE_ONE, Chance, Contribution, Grounds, Lacking, MeanOf, Settle, SpreadWord, Uncertainty,
};
pub use hand::{Mirrored, Spoken, Words};
pub use ids::{BenchId, CharacteristicId, GaugeId, Hand, IdError, PartId, PieceId, SensorId, Seq};
pub use length::{InchFraction, LENGTH_MAX_PM, Length, PM_PER_INCH, PM_PER_MM};
pub use limits::{Limits, LimitsError, Place};
pub use mistake::Mistake;
pub use number::{NUMBER_BYTES_MAX, Number};
pub use piece::{ATTEMPTS_KEPT_MAX, Attempt, FITTINGS_KEPT_MAX, Fitting, Measured, Piece};
pub use plan::{
    Bend, BendWay, Characteristic, GaugeKind, PartPlan, STAGES, Sheet, Springback, Stage,
    Tolerance, UnknownWord, Warning,
};
pub use quantity::{Quantity, QuantityError, Unit};
pub use reading::{Decoded, Garbled, NoReading, Observation, Reading, Suppressed, Via};
pub use release::{Batch, Early, FIRST_ARTICLE_MATES, FirstArticle, Released, Unreleased};
pub use revision::{Adopted, Changed, FORMER_KEPT_MAX, Former, Outdated};
pub use shop::Shop;
pub use show::{DisplayUnits, Shown, show, show_excess};
pub use sketch::{Dimension, DimensionShape, Layer, Point, Stroke, StrokeShape, View};
pub use stated::{NoSpread, StatedPart, StatedSpread};
pub use study::{
    Repeats, STUDIES_KEPT_MAX, STUDY_APPRAISERS, STUDY_PIECES, STUDY_READINGS_MAX, STUDY_TRIALS,
    Studies, Study, StudyAct, StudyCell, StudyPlan,
};
pub use submission::{Outcome, Receipt, Refusal, Submission};
pub use temperature::{
    NoTemperature, TEMPERATURE_GRAINS_PER_K, TEMPERATURE_MAX_C, TEMPERATURE_MIN_C, Temperature,
    TemperatureUnit,
};
pub use trust::{Faces, LimitOfError, NoLimitOfError, Reference, Trust, ZERO};
