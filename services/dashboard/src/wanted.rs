//! The fields of a post: JSON from a program or from the page's module, or a form without JavaScript.

use axum::body::{Body, Bytes};
use axum::extract::{FromRequest, Request};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use serde::de::{self, DeserializeOwned, Visitor};
use serde::{Deserialize, Deserializer, Serialize};
use shared_types::{BenchId, Seq};

use crate::problem::Problem;

/// Largest body accepted. The largest honest one is a void with a reason of 500 bytes.
pub(crate) const BODY_BYTES_MAX: usize = 64 * 1024;

/// How the one who asked wants the answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Asked {
    /// A document.
    Json,
    /// A way back to the page.
    Form,
}

/// The fields, and how to answer.
pub(crate) struct Fields<T> {
    pub(crate) fields: T,
    pub(crate) asked: Asked,
}

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Fields<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        let asked = asked(&request)?;
        let (mut parts, body) = request.into_parts();
        let bytes = read(body).await?;
        let fields = match asked {
            Asked::Json => serde_json::from_slice(&bytes)
                .map_err(|error| Problem::fields(format!("reading the JSON body: {error}")))?,
            Asked::Form => {
                // The length that was announced has been read; axum's form reader needs none.
                parts.headers.remove(header::CONTENT_LENGTH);
                let request = Request::from_parts(parts, Body::from(bytes));
                let axum::Form(fields) =
                    axum::Form::from_request(request, state)
                        .await
                        .map_err(|error| {
                            Problem::fields(format!("reading the form: {}", error.body_text()))
                        })?;
                fields
            }
        };
        Ok(Self { fields, asked })
    }
}

/// Any other content type is refused: it is what a foreign page can send without asking first.
fn asked(request: &Request) -> Result<Asked, Problem> {
    let found = request
        .headers()
        .get(header::CONTENT_TYPE)
        .and_then(|value| value.to_str().ok())
        .unwrap_or("");
    let essence = found.split(';').next().unwrap_or("").trim();
    if essence.eq_ignore_ascii_case("application/json") {
        Ok(Asked::Json)
    } else if essence.eq_ignore_ascii_case("application/x-www-form-urlencoded") {
        Ok(Asked::Form)
    } else {
        Err(Problem::content_type(found))
    }
}

async fn read(body: Body) -> Result<Bytes, Problem> {
    // The only failures are a body that is too long and a client that went away, who reads no answer.
    axum::body::to_bytes(body, BODY_BYTES_MAX)
        .await
        .map_err(|_| Problem::too_big(BODY_BYTES_MAX))
}

#[derive(Serialize)]
struct Written {
    seq: Seq,
}

/// The answer to an act that is on disk.
pub(crate) fn written(asked: Asked, seq: Seq, bench: Option<&BenchId>) -> Response {
    match (asked, bench) {
        (Asked::Json, _) => (StatusCode::OK, axum::Json(Written { seq })).into_response(),
        // 303: the browser gets the page, and loading it again does not post again.
        (Asked::Form, Some(bench)) => Redirect::to(&format!("/bench/{bench}")).into_response(),
        (Asked::Form, None) => Redirect::to("/").into_response(),
    }
}

/// A text field; one left empty in a form counts as not given.
pub(crate) fn text<'de, D: Deserializer<'de>>(d: D) -> Result<Option<String>, D::Error> {
    let text = Option::<String>::deserialize(d)?;
    Ok(text.map(|t| t.trim().to_owned()).filter(|t| !t.is_empty()))
}

/// A whole number: a number in JSON, digits in a form; a field left empty in a form counts as not given.
pub(crate) fn whole<'de, D: Deserializer<'de>>(d: D) -> Result<Option<u64>, D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Given {
        Number(u64),
        Digits(String),
    }
    match Option::<Given>::deserialize(d)? {
        Some(Given::Number(number)) => Ok(Some(number)),
        Some(Given::Digits(text)) if text.trim().is_empty() => Ok(None),
        Some(Given::Digits(text)) => text
            .trim()
            .parse()
            .map(Some)
            .map_err(|_| de::Error::custom(format!("found {text:?}, expected a whole number"))),
        None => Ok(None),
    }
}

/// An entry's number: a number in JSON, digits in a form.
pub(crate) fn seq<'de, D: Deserializer<'de>>(d: D) -> Result<Seq, D::Error> {
    struct Number;
    impl Visitor<'_> for Number {
        type Value = Seq;
        fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
            f.write_str("the number of an entry")
        }
        fn visit_u64<E: de::Error>(self, number: u64) -> Result<Seq, E> {
            Ok(Seq(number))
        }
        fn visit_str<E: de::Error>(self, text: &str) -> Result<Seq, E> {
            text.parse()
                .map(Seq)
                .map_err(|_| E::invalid_value(de::Unexpected::Str(text), &self))
        }
    }
    d.deserialize_any(Number)
}
