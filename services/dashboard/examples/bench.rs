//! Serves the bench screen with an invented state, to look at:
//! `cargo run -p dashboard --example bench -- [empty|pass|fail|held|leg|zero|garbled|wrong|done] [port]`.

#[path = "../tests/common/mod.rs"]
mod common;

use std::sync::Arc;

use dashboard::{Dashboard, serve};
use tokio::net::TcpListener;
use tokio::sync::{mpsc, watch};
use tokio_util::sync::CancellationToken;

#[tokio::main]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let scene = arguments.next().unwrap_or_else(|| "fail".to_owned());
    let port = arguments.next().map_or(Ok(8077), |port| port.parse())?;
    let dir = tempfile::tempdir()?;
    let mut spine = common::Spine::open(dir.path(), "Float bulkhead, bay 2", 1);
    common::play(&mut spine, &scene);
    let shop = spine.shop.clone();
    let (sink, events) = mpsc::channel(64);
    let (announce, newest) = watch::channel(shop.seq);
    std::thread::spawn(move || spine.run(events, &announce));
    let (_links, links) = watch::channel("connected".to_owned());
    let listener = TcpListener::bind(("127.0.0.1", port)).await?;
    println!("http://{}/", listener.local_addr()?);
    let dashboard = Dashboard {
        dir: dir.path().to_owned(),
        sink,
        newest,
        fresh: Arc::default(),
        shop,
        type_in: Arc::new(common::type_in),
        asking: dashboard::Asking::default(),
        links: Some(links),
        hosts: Vec::new(),
    };
    let stop = CancellationToken::new();
    let ended = stop.clone();
    tokio::spawn(async move {
        if tokio::signal::ctrl_c().await.is_ok() {
            ended.cancel();
        }
    });
    serve(listener, dashboard, stop).await?;
    Ok(())
}
