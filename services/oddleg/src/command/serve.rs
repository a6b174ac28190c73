//! `oddleg serve`.

use std::net::SocketAddr;
use std::path::Path;
use std::process::ExitCode;

use tokio_util::sync::CancellationToken;

use crate::config::Build;

pub(super) fn run(dir: &Path, listen: Option<SocketAddr>) -> anyhow::Result<ExitCode> {
    let mut build = Build::read(dir)?;
    if let Some(listen) = listen {
        build.listen = listen;
    }
    let stop = CancellationToken::new();
    let (ready, address) = tokio::sync::oneshot::channel();
    crate::signals::stop_on_signal(&stop)?;
    std::thread::scope(|scope| {
        scope.spawn(|| {
            if let Ok(address) = address.blocking_recv() {
                println!("{}: the screen is at http://{address}/", build.name);
            }
        });
        crate::serve::serve(&build, &stop, ready)
    })?;
    Ok(ExitCode::SUCCESS)
}
