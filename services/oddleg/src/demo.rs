//! `oddleg demo`: the invented Saltmarsh build, its gauges played through real pseudo-terminals and
//! real MQTT and its people through real HTTP, into the real daemon. It lives in a directory of its own.

mod build;
mod foreseen;
mod gauge;
pub(crate) mod hands;
pub mod model;
mod player;
mod radio;

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use clap::Args;
use tokio_util::sync::CancellationToken;

pub use gauge::Plugged;
use radio::Lamp;

use crate::capture;
use crate::config::Build;
use crate::serve::Addresses;

/// How the demo is to run.
#[derive(Debug, Args)]
pub struct Options {
    /// Serve the screen here
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:8377")]
    listen: SocketAddr,
    /// Play this many times faster than life
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1000))]
    pace: u32,
    /// Keep the build in this directory, which must be new or empty; otherwise it is removed at the end
    #[arg(long, value_name = "DIR")]
    dir: Option<PathBuf>,
    /// Stop after the last reading instead of leaving the screen open
    #[arg(long)]
    once: bool,
}

/// Runs the demo until it is stopped.
///
/// # Errors
/// Whatever keeps it from running; nothing of a person's own build is touched either way.
pub fn run(options: &Options) -> anyhow::Result<ExitCode> {
    let stop = CancellationToken::new();
    crate::signals::stop_on_signal(&stop)?;
    // Removed when it goes out of scope, whatever happened in between.
    let (_own, dir) = directory(options)?;
    build::lay_out(&dir)?;
    let mut build = Build::read(&dir)?;
    build.listen = options.listen;
    let capture = capture::parse(build::CAPTURE_FILE, build::CAPTURE)?;
    let (ready, addresses) = tokio::sync::oneshot::channel::<Addresses>();
    let played = std::thread::scope(|scope| {
        let playing = scope.spawn(|| {
            let Ok(addresses) = addresses.blocking_recv() else { return Ok((None, BTreeMap::new())) };
            let lamp = greet(addresses);
            let played = player::play(&capture, &build, addresses, options.pace, &stop);
            let played = lamp.and_then(|lamp| played.map(|gauges| (lamp, gauges)));
            if options.once || played.is_err() {
                stop.cancel();
            } else if !stop.is_cancelled() {
                println!("\nThat was the last one. The screen stays open: type a reading there, or press Ctrl-C to stop.");
            }
            played
        });
        let served = crate::serve::serve(&build, &stop, ready);
        stop.cancel();
        let played = playing
            .join()
            .unwrap_or_else(|_| bail!("the demo's player stopped on a broken invariant"));
        // The gauges stay plugged in until here, while the screen was open.
        served.and(played)
    });
    played?;
    Ok(ExitCode::SUCCESS)
}

/// Says where everything is, and switches the lamp on.
fn greet(addresses: Addresses) -> anyhow::Result<Option<Lamp>> {
    println!(
        "\n  Saltmarsh floats, an invented build. Open the bench screen:\n\n      http://{}/\n",
        addresses.screen
    );
    let Some(mqtt) = addresses.mqtt else {
        return Ok(None);
    };
    println!(
        "  Its lamp hears findings over MQTT; so can you, with any client:\n\n      \
         mosquitto_sub -p {} -u lamp -P {} -t 'oddleg/benches/+/finding'\n",
        mqtt.port(),
        radio::LAMP_PASSWORD
    );
    let lamp = Lamp::new(mqtt, |bench, finding| {
        let verdict = finding["verdict"].as_str().unwrap_or_default();
        if verdict != "pass" {
            println!("            the lamp on {bench} turns on: {verdict}");
        }
    })?;
    Ok(Some(lamp))
}

fn directory(options: &Options) -> anyhow::Result<(Option<tempfile::TempDir>, PathBuf)> {
    let Some(dir) = &options.dir else {
        let own = tempfile::Builder::new()
            .prefix("oddleg-demo-")
            .tempdir()
            .context("making a directory for the demo build")?;
        let path = own.path().to_path_buf();
        return Ok((Some(own), path));
    };
    std::fs::create_dir_all(dir).with_context(|| format!("making {}", dir.display()))?;
    let mut inside =
        std::fs::read_dir(dir).with_context(|| format!("reading {}", dir.display()))?;
    if inside.next().is_some() {
        bail!(
            "{} is not empty; the demo never touches a build of yours, name a new directory",
            dir.display()
        );
    }
    Ok((None, dir.clone()))
}
