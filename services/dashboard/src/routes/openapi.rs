//! The description of the programs' side, written by hand and held against the routes by a test.

use axum::http::header;
use axum::response::{IntoResponse, Response};

/// An OpenAPI 3.1 document.
const DOCUMENT: &str = include_str!("../assets/openapi.json");

pub(super) async fn document() -> Response {
    ([(header::CONTENT_TYPE, "application/json")], DOCUMENT).into_response()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::DOCUMENT;

    #[test]
    fn the_document_lists_exactly_the_routes() {
        let document: serde_json::Value = serde_json::from_str(DOCUMENT).unwrap();
        let listed: BTreeSet<(String, String)> = document["paths"]
            .as_object()
            .unwrap()
            .iter()
            .flat_map(|(path, methods)| {
                let methods = methods.as_object().unwrap().keys();
                methods.map(move |method| (path.clone(), method.clone()))
            })
            .collect();
        let routed: BTreeSet<(String, String)> = super::super::api()
            .iter()
            .map(|route| (route.path.to_owned(), route.method.to_owned()))
            .collect();
        assert_eq!(listed, routed);
    }
}
