//! What every screen is drawn from, and the task that keeps it in step with the history.

use std::collections::{BTreeMap, VecDeque};
use std::sync::{Arc, Mutex, PoisonError, RwLock, RwLockReadGuard};
use std::time::Duration;

use jiff::tz::TimeZone;
use shared_types::{BenchId, Day, Entry, PieceId, Seq, Shop, Submission};
use tokio::sync::{Semaphore, mpsc, watch};
use tokio::time::Instant;
use tokio_util::sync::CancellationToken;

use crate::clock::{now_us, today};
use crate::source::Source;
use crate::{Asking, Dashboard, Fresh, TypeIn, page};

/// Live streams at once: every bench of a large workshop with a tablet and a phone each.
pub(crate) const CLIENTS_MAX: usize = 64;

/// Entries read and folded in one go; between two goes waiting requests get their turn.
const CHUNK_MAX: usize = 250;

/// At most one announcement in this time: twenty a second, faster than a person reads and slow
/// enough that a saturated history does not spend the processor on drawing.
const ANNOUNCE_EVERY: Duration = Duration::from_millis(50);

/// Between two attempts to read a history that failed to be read.
const RETRY_AFTER: Duration = Duration::from_secs(1);

/// The dashboard while it runs.
pub(crate) struct App {
    pub(crate) source: Source,
    pub(crate) sink: mpsc::Sender<Submission>,
    pub(crate) type_in: TypeIn,
    pub(crate) asking: Asking,
    pub(crate) hosts: Vec<String>,
    pub(crate) zone: TimeZone,
    pub(crate) stop: CancellationToken,
    pub(crate) clients: Arc<Semaphore>,
    /// Raised after each change of anything shown.
    pub(crate) version: watch::Sender<u64>,
    shop: RwLock<Shop>,
    newest: watch::Receiver<Seq>,
    fresh: Arc<Fresh>,
    links: Option<watch::Receiver<String>>,
    trouble: Mutex<Option<String>>,
    drawn: Mutex<BTreeMap<BenchId, Drawn>>,
}

/// A bench drawn once for all who look at it.
#[derive(Clone)]
pub(crate) struct Drawn {
    version: u64,
    /// What is overdue changes with the day.
    day: Day,
    /// The newest entry it shows.
    pub(crate) seq: Seq,
    /// The HTML.
    pub(crate) html: Arc<str>,
}

impl App {
    pub(crate) fn new(dashboard: Dashboard, source: Source, stop: CancellationToken) -> Arc<Self> {
        Arc::new(Self {
            source,
            sink: dashboard.sink,
            type_in: dashboard.type_in,
            asking: dashboard.asking,
            hosts: dashboard.hosts,
            zone: TimeZone::system(),
            stop,
            clients: Arc::new(Semaphore::new(CLIENTS_MAX)),
            version: watch::Sender::new(1),
            shop: RwLock::new(dashboard.shop),
            newest: dashboard.newest,
            fresh: dashboard.fresh,
            links: dashboard.links,
            trouble: Mutex::new(None),
            drawn: Mutex::new(BTreeMap::new()),
        })
    }

    /// The shop, for as long as it takes to draw from it; never held over an await.
    pub(crate) fn shop(&self) -> RwLockReadGuard<'_, Shop> {
        self.shop.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// How the broker is doing, where there is one.
    pub(crate) fn links(&self) -> Option<String> {
        self.links.as_ref().map(|links| links.borrow().clone())
    }

    /// Why what is shown may be behind the history.
    pub(crate) fn trouble(&self) -> Option<String> {
        self.trouble
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// The bench as HTML, as of the last announcement, drawn once for all who follow it; `None` where there is no
    /// such bench.
    pub(crate) fn drawn(&self, bench: &BenchId) -> Option<Drawn> {
        // Read before the shop: a change in between only means that it is drawn once more.
        let version = *self.version.borrow();
        let day = today(now_us(), &self.zone);
        let old = self
            .drawn
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .get(bench)
            .filter(|drawn| drawn.version == version && drawn.day == day)
            .cloned();
        if old.is_some() {
            return old;
        }
        let drawn = self.draw(bench, version)?;
        self.drawn
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(bench.clone(), drawn.clone());
        Some(drawn)
    }

    /// The bench as HTML as it is now. Announcements wait for one another, and whoever is led back to the page by
    /// the answer to a post must find there what was just committed.
    pub(crate) fn drawn_now(&self, bench: &BenchId) -> Option<Drawn> {
        let version = *self.version.borrow();
        self.draw(bench, version)
    }

    fn draw(&self, bench: &BenchId, version: u64) -> Option<Drawn> {
        let now_us = now_us();
        let shop = self.shop();
        let html = page::fragment(&shop, bench, self, now_us)?.into_string();
        Some(Drawn {
            version,
            day: today(now_us, &self.zone),
            seq: shop.seq,
            html: html.into(),
        })
    }

    /// The first bench with nothing else to go by; `None` where the build has none.
    pub(crate) fn first_bench(&self) -> Option<BenchId> {
        let shop = self.shop();
        let setup = shop.setup.as_ref()?;
        setup.benches.first().map(|(id, _)| id.clone())
    }

    fn set_trouble(&self, trouble: Option<String>) {
        let mut now = self.trouble.lock().unwrap_or_else(PoisonError::into_inner);
        if *now != trouble {
            if let Some(trouble) = &trouble {
                tracing::error!("{trouble}");
            }
            *now = trouble;
            drop(now);
            self.announce();
        }
    }

    fn announce(&self) {
        self.version.send_modify(|version| *version += 1);
    }

    fn fold(&self, entries: impl IntoIterator<Item = Entry>) {
        let mut shop = self.shop.write().unwrap_or_else(PoisonError::into_inner);
        for entry in entries {
            shop.apply(&entry);
        }
    }

    /// Folds in what has been committed since; says whether all of it is in. `fresh` is empty before
    /// and after, and spares an allocation for each commit.
    async fn catch_up(self: &Arc<Self>, newest: Seq, fresh: &mut VecDeque<Entry>) -> bool {
        loop {
            let after = self.shop().seq;
            if newest <= after {
                return true;
            }
            self.fresh.take_after(after, fresh);
            if !fresh.is_empty() {
                self.fold(fresh.drain(..));
                continue;
            }
            let app = Arc::clone(self);
            let read =
                tokio::task::spawn_blocking(move || app.source.after(after, CHUNK_MAX)).await;
            match read {
                Ok(Ok(entries)) if entries.is_empty() => {
                    self.set_trouble(Some(format!(
                        "reading the history after entry {after}: found nothing, expected entries up \
                         to {newest}; what is shown stands at entry {after}"
                    )));
                    return false;
                }
                Ok(Ok(entries)) => self.fold(entries),
                Ok(Err(error)) => {
                    self.set_trouble(Some(format!(
                        "reading the history after entry {after}: {error}; what is shown stands at entry {after}"
                    )));
                    return false;
                }
                Err(_stopping) => return false,
            }
        }
    }
}

/// Follows the history until the stop: folds every commit in at once, which is cheap while it is fresh,
/// and announces what came within one announcement together.
pub(crate) async fn follow(app: Arc<App>) {
    let mut newest = app.newest.clone();
    let mut links = app.links.clone();
    let mut shown = app.shop().seq;
    let mut quiet_until = Instant::now();
    let mut fresh = VecDeque::new();
    loop {
        let seq = *newest.borrow_and_update();
        let done = app.catch_up(seq, &mut fresh).await;
        if done {
            app.set_trouble(None);
        }
        let folded = app.shop().seq;
        if shown < folded && quiet_until <= Instant::now() {
            shown = folded;
            quiet_until = Instant::now() + ANNOUNCE_EVERY;
            app.announce();
        }
        if !done {
            tokio::select! {
                () = app.stop.cancelled() => return,
                () = tokio::time::sleep(RETRY_AFTER) => continue,
            }
        }
        tokio::select! {
            () = app.stop.cancelled() => return,
            () = tokio::time::sleep_until(quiet_until), if shown < folded => {}
            changed = newest.changed() => if changed.is_err() {
                app.set_trouble(Some(
                    "the writer of the history has stopped; nothing new can be recorded until oddleg is started again".to_owned(),
                ));
                return;
            },
            () = changed(&mut links) => app.announce(),
        }
    }
}

/// Waits for a change of the broker's state; for ever where there is no broker, or it says no more.
async fn changed(links: &mut Option<watch::Receiver<String>>) {
    if let Some(receiver) = links
        && receiver.changed().await.is_ok()
    {
        return;
    }
    std::future::pending().await
}

/// Where a piece lies, if it lies anywhere.
pub(crate) fn lies_on<'a>(shop: &'a Shop, piece: &PieceId) -> Option<&'a BenchId> {
    shop.benches.iter().find_map(|(id, bench)| {
        let (lies, _) = bench.on_bench.as_ref()?;
        (lies == piece).then_some(id)
    })
}
