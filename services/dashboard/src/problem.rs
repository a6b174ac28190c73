//! What went wrong, as an RFC 9457 problem document.

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use shared_types::Refusal;

/// A problem to answer with.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Problem {
    #[serde(rename = "type")]
    kind: &'static str,
    pub(crate) title: &'static str,
    pub(crate) status: u16,
    pub(crate) detail: String,
}

impl Problem {
    fn new(status: StatusCode, title: &'static str, detail: impl Into<String>) -> Self {
        Self {
            // Nothing to look up behind an address: the title says which problem it is (RFC 9457, 4.2.1).
            kind: "about:blank",
            title,
            status: status.as_u16(),
            detail: detail.into(),
        }
    }

    pub(crate) fn not_found(detail: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, "not there", detail)
    }

    pub(crate) fn method() -> Self {
        Self::new(
            StatusCode::METHOD_NOT_ALLOWED,
            "another method is expected here",
            "this address answers other methods; /api/openapi.json lists them",
        )
    }

    pub(crate) fn foreign(detail: impl Into<String>) -> Self {
        Self::new(StatusCode::FORBIDDEN, "not from here", detail)
    }

    pub(crate) fn too_big(bytes_max: usize) -> Self {
        Self::new(
            StatusCode::PAYLOAD_TOO_LARGE,
            "the request is too big",
            format!("found a body of more than {bytes_max} bytes, which is the most accepted"),
        )
    }

    pub(crate) fn content_type(found: &str) -> Self {
        Self::new(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "another content type is expected",
            format!(
                "found content type {found:?}, expected application/json or application/x-www-form-urlencoded"
            ),
        )
    }

    pub(crate) fn fields(detail: impl Into<String>) -> Self {
        Self::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "the fields do not fit",
            detail,
        )
    }

    pub(crate) fn stopped(detail: impl Into<String>) -> Self {
        Self::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "cannot be done just now",
            detail,
        )
    }

    pub(crate) fn inside(detail: impl Into<String>) -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "failed on this side",
            detail,
        )
    }
}

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Self {
        let detail = refusal.to_string();
        match refusal {
            Refusal::NoBench(_)
            | Refusal::NoPart(_)
            | Refusal::NoPiece { .. }
            | Refusal::NoHand { .. }
            | Refusal::NotHanded { .. }
            | Refusal::NoCharacteristic(_)
            | Refusal::NoGauge { .. }
            | Refusal::NoReference { .. }
            | Refusal::NoReading(_) => Self::not_found(detail),
            Refusal::Elsewhere { .. }
            | Refusal::Scrapped { .. }
            | Refusal::NotReleased { .. }
            | Refusal::NotFailed { .. }
            | Refusal::NotStanding { .. }
            | Refusal::NobodyNamed { .. }
            | Refusal::NoStage { .. }
            | Refusal::Withdrawn { .. }
            | Refusal::NoMate { .. }
            | Refusal::NoFit { .. }
            | Refusal::NotThatMate { .. }
            | Refusal::MateNotMeasured { .. }
            | Refusal::Derived(_)
            | Refusal::NoLimitOfError { .. }
            | Refusal::NotAnInstrument(_)
            | Refusal::NotChecking(_)
            | Refusal::NoStudy { .. }
            | Refusal::NothingOnBench
            | Refusal::Judged(_) => {
                Self::new(StatusCode::CONFLICT, "refused; nothing was written", detail)
            }
            Refusal::WrongKind
            | Refusal::NoForm { .. }
            | Refusal::NoSuchStudy { .. }
            | Refusal::Appraiser { .. }
            | Refusal::StudyWidth { .. }
            | Refusal::Missing(_)
            | Refusal::TooLong(_) => Self::fields(detail),
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status =
            StatusCode::from_u16(self.status).expect("every problem is made from a status");
        let body = serde_json::to_vec(&self).expect("a problem is text and a number");
        let kind = HeaderValue::from_static("application/problem+json");
        let mut response = (status, [(header::CONTENT_TYPE, kind)], body).into_response();
        if status == StatusCode::SERVICE_UNAVAILABLE {
            response
                .headers_mut()
                .insert(header::RETRY_AFTER, HeaderValue::from_static("5"));
        }
        // For the guard, which answers a person's browser with a page instead.
        response.extensions_mut().insert(self);
        response
    }
}
