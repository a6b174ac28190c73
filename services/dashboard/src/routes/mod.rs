//! Every address the server answers, in one table: the router is built from it, and the OpenAPI
//! document is held against it by a test.

mod asks;
mod bench;
mod charted;
mod checks;
mod corrections;
mod dispositions;
mod grounded;
mod look;
mod openapi;
mod pages;
mod pairing;
mod parts;
mod readings;
mod record;
mod seen;
mod springback;
mod studies;
mod taken;
mod temperatures;
mod trends;
mod trusted;

use std::sync::Arc;

use axum::Router;
use axum::handler::Handler;
use axum::middleware::from_fn_with_state;
use axum::routing::{MethodRouter, get, post};

use crate::guard::guard;
use crate::problem::Problem;
use crate::state::App;

/// One address and one method of it.
struct Route {
    #[cfg_attr(
        not(test),
        expect(
            dead_code,
            reason = "the table is also what the document is held against"
        )
    )]
    method: &'static str,
    path: &'static str,
    answer: MethodRouter<Arc<App>>,
}

fn reads<H: Handler<T, Arc<App>>, T: 'static>(path: &'static str, handler: H) -> Route {
    Route {
        method: "get",
        path,
        answer: get(handler),
    }
}

fn acts<H: Handler<T, Arc<App>>, T: 'static>(path: &'static str, handler: H) -> Route {
    Route {
        method: "post",
        path,
        answer: post(handler),
    }
}

/// What a person's browser asks for.
fn pages() -> Vec<Route> {
    vec![
        reads("/", pages::root),
        reads("/bench/{id}", pages::bench),
        reads("/trends", trends::list),
        reads("/springback", springback::page),
        reads("/pairing/{part}", pairing::page),
        reads("/trends/{part}/{characteristic}", trends::page),
        reads("/studies/{seq}", studies::page),
        reads("/assets/bench.css", pages::css),
        reads("/assets/bench.js", pages::js),
        reads("/assets/mark.svg", pages::mark),
    ]
}

/// What programs ask for; described by the OpenAPI document.
fn api() -> Vec<Route> {
    vec![
        reads("/api/bench", bench::read),
        acts("/api/bench", bench::act),
        acts("/api/readings", readings::act),
        acts("/api/asks", asks::act),
        acts("/api/held/{seq}", corrections::held),
        acts("/api/dispositions", dispositions::act),
        acts("/api/voids", corrections::void),
        acts("/api/checks", checks::act),
        acts("/api/temperatures", temperatures::act),
        acts("/api/studies", studies::act),
        reads("/api/pieces", parts::pieces),
        reads("/api/parts/{part}", parts::part),
        reads("/api/trends/{part}/{characteristic}", trends::json),
        reads("/api/springback", springback::json),
        reads("/api/pairing/{part}", pairing::json),
        reads("/api/history", look::history),
        reads("/api/live", look::live),
        reads("/api/record.csv", record::csv),
        reads("/api/record.json", record::json),
        reads("/api/openapi.json", openapi::document),
        reads("/healthz", look::healthz),
    ]
}

/// The whole server.
pub(crate) fn router(app: Arc<App>) -> Router {
    let mut router = Router::new();
    for route in pages().into_iter().chain(api()) {
        router = router.route(route.path, route.answer);
    }
    router
        .fallback(|| async {
            Problem::not_found(
                "there is nothing at this address; /api/openapi.json lists what there is",
            )
        })
        .method_not_allowed_fallback(|| async { Problem::method() })
        .layer(from_fn_with_state(Arc::clone(&app), guard))
        .with_state(app)
}
