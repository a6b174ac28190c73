//! Names out of addresses and fields, checked.

use std::str::FromStr;
use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::extract::{Path, Query};
use axum::http::request::Parts;
use serde::de::DeserializeOwned;
use shared_types::BenchId;

use crate::problem::Problem;
use crate::state::App;

/// The part of the address in braces; an address that is not text is nowhere.
pub(super) struct InPath(pub(super) String);

impl FromRequestParts<Arc<App>> for InPath {
    type Rejection = Problem;
    async fn from_request_parts(parts: &mut Parts, app: &Arc<App>) -> Result<Self, Problem> {
        let Path(text) = Path::<String>::from_request_parts(parts, app)
            .await
            .map_err(|error| Problem::not_found(error.body_text()))?;
        Ok(Self(text))
    }
}

/// Two such parts.
pub(super) struct InPaths(pub(super) String, pub(super) String);

impl FromRequestParts<Arc<App>> for InPaths {
    type Rejection = Problem;
    async fn from_request_parts(parts: &mut Parts, app: &Arc<App>) -> Result<Self, Problem> {
        let Path((first, second)) = Path::<(String, String)>::from_request_parts(parts, app)
            .await
            .map_err(|error| Problem::not_found(error.body_text()))?;
        Ok(Self(first, second))
    }
}

/// What stands after the question mark.
pub(super) struct Asks<T>(pub(super) T);

impl<T: DeserializeOwned> FromRequestParts<Arc<App>> for Asks<T> {
    type Rejection = Problem;
    async fn from_request_parts(parts: &mut Parts, app: &Arc<App>) -> Result<Self, Problem> {
        let Query(fields) = Query::<T>::from_request_parts(parts, app)
            .await
            .map_err(|error| Problem::fields(error.body_text()))?;
        Ok(Self(fields))
    }
}

/// A name or word of a field.
pub(super) fn parsed<T: FromStr<Err: std::fmt::Display>>(
    field: &str,
    text: &str,
) -> Result<T, Problem> {
    text.parse()
        .map_err(|error| Problem::fields(format!("{field}: found {text:?}, {error}")))
}

/// A field that must be there.
pub(super) fn needed<T>(field: &str, value: Option<T>) -> Result<T, Problem> {
    value.ok_or_else(|| Problem::fields(format!("{field} is missing")))
}

/// The bench that is named, or the only one; it must exist.
pub(super) fn bench(app: &App, named: Option<&str>) -> Result<BenchId, Problem> {
    let shop = app.shop();
    if let Some(name) = named {
        // A name that is no name is also the name of no bench.
        return BenchId::new(name)
            .ok()
            .filter(|id| shop.benches.contains_key(id))
            .ok_or_else(|| Problem::not_found(format!("there is no bench {name:?}")));
    }
    let benches = shop
        .setup
        .as_ref()
        .map_or(&[][..], |setup| setup.benches.as_slice());
    match benches {
        [(only, _)] => Ok(only.clone()),
        [] => Err(Problem::not_found(
            "there is no bench in this configuration",
        )),
        _ => Err(Problem::fields(format!(
            "bench is missing; expected one of {}",
            benches
                .iter()
                .map(|(id, _)| id.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        ))),
    }
}
