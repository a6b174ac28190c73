//! The only crate that knows HTTP and HTML. It reads the history and cannot write it: what a person
//! posts becomes an event in the spine's queue, and is answered by its receipt, after the commit.
//!
//! Every screen is drawn from one [`Shop`], folded here from committed entries only, so nothing can
//! appear before it is on disk. The browser does no arithmetic: numbers, limits and drawings reach it
//! as finished text.

mod act;
mod asking;
mod clock;
mod due;
mod fresh;
mod guard;
mod learned;
mod live;
mod page;
mod problem;
mod routes;
mod socket;
mod source;
mod state;
mod wanted;

pub use asking::Asking;
pub use fresh::Fresh;

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use shared_types::{GaugeId, Observation, Seq, Shop, Submission};
use tokio::net::TcpListener;
use tokio::sync::{mpsc, watch};
use tokio_util::sync::CancellationToken;

/// How long open requests may finish after the stop. Live streams end at once; what is left is a
/// post waiting for its commit, which takes milliseconds, or a client that has gone.
const GRACE: Duration = Duration::from_secs(3);

/// Reads what a person typed, as the gauge named.
pub type TypeIn = Arc<dyn Fn(&GaugeId, &str) -> Observation + Send + Sync>;

/// What the dashboard is given.
pub struct Dashboard {
    /// The build's directory, to open readers of its history.
    pub dir: PathBuf,
    /// Into the spine.
    pub sink: mpsc::Sender<Submission>,
    /// The newest committed entry.
    pub newest: watch::Receiver<Seq>,
    /// Entries as they are committed, pushed before they are announced by `newest`.
    pub fresh: Arc<Fresh>,
    /// The state replayed at start; entries after it are read from the history.
    pub shop: Shop,
    /// Reads typed text.
    pub type_in: TypeIn,
    /// Gauges that can be asked for a reading.
    pub asking: Asking,
    /// How the broker is doing, in words for the screen; `None` where no broker is configured.
    pub links: Option<watch::Receiver<String>>,
    /// Names, without port, by which browsers may reach this server besides the loopback ones.
    pub hosts: Vec<String>,
}

/// Why serving ended.
#[derive(Debug, thiserror::Error)]
pub enum DashboardError {
    /// The history could not be opened for reading.
    #[error("opening the history for the dashboard")]
    History(#[from] history::HistoryError),
    /// The listening socket failed.
    #[error("serving the dashboard")]
    Serve(#[source] std::io::Error),
}

/// Serves until `stop`; then live streams end, and open requests get a short grace.
///
/// # Errors
/// The history cannot be read at start, or the listening socket fails.
pub async fn serve(
    listener: TcpListener,
    dashboard: Dashboard,
    stop: CancellationToken,
) -> Result<(), DashboardError> {
    let source = source::Source::open(&dashboard.dir)?;
    let app = state::App::new(dashboard, source, stop.clone());
    let follower = tokio::spawn(state::follow(Arc::clone(&app)));
    let server = axum::serve(socket::Patient::new(listener), routes::router(app))
        .with_graceful_shutdown(stop.clone().cancelled_owned());
    let served = tokio::select! {
        served = server => served.map_err(DashboardError::Serve),
        () = async { stop.cancelled().await; tokio::time::sleep(GRACE).await } => Ok(()),
    };
    follower.abort();
    served
}
