//! `oddleg serve`.

use std::net::SocketAddr;
use std::path::Path;
use std::process::ExitCode;

use tokio_util::sync::CancellationToken;

use crate::config::Build;
use crate::serve::Addresses;

pub(super) fn run(dir: &Path, listen: Option<SocketAddr>) -> anyhow::Result<ExitCode> {
    let mut build = Build::read(dir)?;
    if let Some(listen) = listen {
        build.listen = listen;
    }
    let stop = CancellationToken::new();
    let (ready, addresses) = tokio::sync::oneshot::channel();
    crate::signals::stop_on_signal(&stop)?;
    std::thread::scope(|scope| {
        scope.spawn(|| {
            if let Ok(Addresses { screen, mqtt }) = addresses.blocking_recv() {
                let mut text = format!("{}: the screen is at http://{screen}/\n", build.name);
                if let Some(mqtt) = mqtt {
                    text += &format!("{}: bridges and lamps connect to {mqtt}\n", build.name);
                }
                if let Err(error) = super::say(&text) {
                    tracing::warn!(%error, "nobody could be told where the screen is");
                }
            }
        });
        crate::serve::serve(&build, &stop, ready)
    })?;
    Ok(ExitCode::SUCCESS)
}
