//! Who may ask. The server sits on loopback or in the workshop's network without a login, so a page
//! from elsewhere, open in a browser here, must not be able to use it: neither by a name that it
//! points at this address (the `Host`), nor by sending a form across (the `Origin`).

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};

use crate::page;
use crate::problem::Problem;
use crate::state::App;

/// Names under which this machine reaches itself.
const LOOPBACK: [&str; 3] = ["localhost", "127.0.0.1", "[::1]"];

const SECURITY: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    // Not `no-referrer`: with it browsers send `Origin: null` with our own forms.
    (header::REFERRER_POLICY, "same-origin"),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
];

/// Around every route.
pub(crate) async fn guard(State(app): State<Arc<App>>, request: Request, next: Next) -> Response {
    let person = accepts_html(request.headers());
    let mut response = match check(&app.hosts, &request) {
        Ok(()) => next.run(request).await,
        Err(problem) => problem.into_response(),
    };
    // A person's browser gets the same words as a page with a way back.
    if person && let Some(problem) = response.extensions_mut().remove::<Problem>() {
        response = (
            response.status(),
            Html(page::problem(&problem).into_string()),
        )
            .into_response();
    }
    let headers = response.headers_mut();
    for (name, value) in SECURITY {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

fn accepts_html(headers: &HeaderMap) -> bool {
    headers
        .get(header::ACCEPT)
        .and_then(|value| value.to_str().ok())
        .is_some_and(|accept| accept.contains("text/html"))
}

fn check(hosts: &[String], request: &Request) -> Result<(), Problem> {
    let host = one(request.headers(), &header::HOST)?.ok_or_else(|| {
        Problem::foreign("found no Host header, expected the name this server is reached by")
    })?;
    if !known(hosts, host) {
        return Err(unknown_host(host));
    }
    // An absolute address in the request line names a host as well.
    if let Some(authority) = request.uri().authority()
        && !known(hosts, authority.as_str())
    {
        return Err(unknown_host(authority.as_str()));
    }
    let Some(origin) = one(request.headers(), &header::ORIGIN)? else {
        return Ok(());
    };
    let from_here = ["http://", "https://"]
        .iter()
        .find_map(|scheme| origin.strip_prefix(scheme))
        .is_some_and(|authority| authority.eq_ignore_ascii_case(host));
    if from_here {
        Ok(())
    } else {
        Err(Problem::foreign(format!(
            "found Origin {origin:?}, expected http://{host}: a page from elsewhere may not use this server"
        )))
    }
}

fn unknown_host(host: &str) -> Problem {
    Problem::foreign(format!(
        "found Host {host:?}, expected localhost or a name in the configuration; add it to `hosts` there"
    ))
}

/// The header's value; two of them, or one that is not text, count as foreign.
fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Result<Option<&'a str>, Problem> {
    let mut values = headers.get_all(name).iter();
    let first = values.next();
    if values.next().is_some() {
        return Err(Problem::foreign(format!(
            "found two {name} headers, expected one"
        )));
    }
    first
        .map(|value| {
            value
                .to_str()
                .map_err(|_| Problem::foreign(format!("the {name} header is not plain text")))
        })
        .transpose()
}

fn known(hosts: &[String], authority: &str) -> bool {
    let name = without_port(authority).trim_end_matches('.');
    LOOPBACK
        .into_iter()
        .chain(hosts.iter().map(String::as_str))
        .any(|host| host.eq_ignore_ascii_case(name))
}

fn without_port(authority: &str) -> &str {
    // An IPv6 address has its colons in brackets.
    match authority.rfind(']') {
        Some(end) => &authority[..=end],
        None => authority.split(':').next().unwrap_or(authority),
    }
}

#[cfg(test)]
mod tests {
    use super::known;

    #[test]
    fn only_loopback_and_configured_names_are_hosts() {
        let hosts = ["bench.example".to_owned()];
        for (host, expect) in [
            ("localhost", true),
            ("LOCALHOST:8080", true),
            ("127.0.0.1:8080", true),
            ("[::1]:8080", true),
            ("bench.example", true),
            ("bench.example.:80", true),
            ("evil.example", false),
            ("localhost.evil.example", false),
            ("bench.example.evil.example", false),
            ("127.0.0.1.evil.example:8080", false),
            ("[::2]", false),
            ("user@localhost", false),
            ("", false),
        ] {
            assert_eq!(known(&hosts, host), expect, "{host:?}");
        }
    }
}
