//! SIGINT and SIGTERM end the daemon in order; a second one ends it at once.

use anyhow::Context as _;
use tokio::signal::unix::{SignalKind, signal};
use tokio_util::sync::CancellationToken;

/// Cancels `stop` at the first signal. Runs on a thread of its own, so that it works whatever the edges do.
///
/// # Errors
/// The thread or the handlers cannot be set up.
pub(crate) fn stop_on_signal(stop: &CancellationToken) -> anyhow::Result<()> {
    let stop = stop.clone();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .context("listening for signals")?;
    let (mut interrupt, mut terminate) = {
        let _inside = runtime.enter();
        (
            signal(SignalKind::interrupt()).context("listening for SIGINT")?,
            signal(SignalKind::terminate()).context("listening for SIGTERM")?,
        )
    };
    std::thread::Builder::new()
        .name("signals".into())
        .spawn(move || {
            runtime.block_on(async move {
                let mut next = async || {
                    tokio::select! { _ = interrupt.recv() => (), _ = terminate.recv() => () }
                };
                next().await;
                stop.cancel();
                next().await;
                // The history is safe whenever the process ends: what is not committed was not acknowledged.
                std::process::exit(130);
            });
        })
        .context("listening for signals")?;
    Ok(())
}
