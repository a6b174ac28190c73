//! The server over a real listener, and a client small enough to say anything, right or wrong.

use std::sync::Arc;
use std::time::Duration;

use dashboard::{Dashboard, DashboardError, serve};
use shared_types::Seq;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio::time::timeout;
use tokio_util::sync::CancellationToken;

use super::{Spine, play};

/// Long enough for a slow machine; nothing here is timed.
pub const PATIENCE: Duration = Duration::from_secs(30);

pub struct Served {
    pub port: u16,
    pub stop: CancellationToken,
    pub serving: JoinHandle<Result<(), DashboardError>>,
    pub newest: watch::Receiver<Seq>,
    pub dir: tempfile::TempDir,
}

pub async fn served_with(scene: &str, title: &str, benches: usize, spine_runs: bool) -> Served {
    let nobody = dashboard::Asking::default();
    served_asking(scene, title, benches, spine_runs, nobody).await
}

/// The same with gauges that can be asked.
pub async fn served_asking(
    scene: &str,
    title: &str,
    benches: usize,
    spine_runs: bool,
    asking: dashboard::Asking,
) -> Served {
    let dir = tempfile::tempdir().unwrap();
    let mut spine = Spine::open(dir.path(), title, benches);
    play(&mut spine, scene);
    served_over(dir, spine, spine_runs, asking).await
}

/// A history written by hand.
pub async fn served_after(write: impl FnOnce(&mut Spine)) -> Served {
    let dir = tempfile::tempdir().unwrap();
    let mut spine = Spine::open(dir.path(), "Float bulkhead, bay 2", 1);
    write(&mut spine);
    served_over(dir, spine, true, dashboard::Asking::default()).await
}

async fn served_over(
    dir: tempfile::TempDir,
    spine: Spine,
    spine_runs: bool,
    asking: dashboard::Asking,
) -> Served {
    let shop = spine.shop.clone();
    let (sink, events) = mpsc::channel(8);
    let (announce, newest) = watch::channel(shop.seq);
    if spine_runs {
        std::thread::spawn(move || spine.run(events, &announce));
    } else {
        drop(events);
        drop(announce);
    }
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let stop = CancellationToken::new();
    let dashboard = Dashboard {
        dir: dir.path().to_owned(),
        sink,
        newest: newest.clone(),
        fresh: Arc::default(),
        shop,
        type_in: Arc::new(super::type_in),
        asking,
        links: None,
        hosts: vec!["bench.example".to_owned()],
    };
    let serving = tokio::spawn(serve(listener, dashboard, stop.clone()));
    Served {
        port,
        stop,
        serving,
        newest,
        dir,
    }
}

pub async fn served(scene: &str) -> Served {
    served_with(scene, "Float bulkhead, bay 2", 1, true).await
}

pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Answer {
    pub fn has(&self, header: &str) -> bool {
        self.head
            .to_ascii_lowercase()
            .contains(&header.to_ascii_lowercase())
    }
}

impl Served {
    pub async fn send(&self, request: &str) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).await.unwrap();
        // A refused body may be cut off by the server while it is still being sent.
        stream.write_all(request.as_bytes()).await.ok();
        let mut all = Vec::new();
        timeout(PATIENCE, stream.read_to_end(&mut all))
            .await
            .expect("an answer")
            .ok();
        let all = String::from_utf8(all).unwrap();
        let (head, body) = all.split_once("\r\n\r\n").expect("a head");
        Answer {
            status: head.split(' ').nth(1).unwrap().parse().unwrap(),
            head: head.to_owned(),
            body: unchunked(head, body),
        }
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.get_with(path, &format!("Host: localhost:{}\r\n", self.port))
            .await
    }

    pub async fn get_with(&self, path: &str, headers: &str) -> Answer {
        self.send(&format!(
            "GET {path} HTTP/1.1\r\n{headers}Connection: close\r\n\r\n"
        ))
        .await
    }

    pub async fn post(&self, path: &str, kind: &str, body: &str, headers: &str) -> Answer {
        let (port, length) = (self.port, body.len());
        self.send(&format!(
            "POST {path} HTTP/1.1\r\nHost: localhost:{port}\r\nContent-Type: {kind}\r\nContent-Length: {length}\r\n{headers}Connection: close\r\n\r\n{body}"
        ))
        .await
    }

    pub async fn json(&self, path: &str, body: &str) -> Answer {
        self.post(path, "application/json", body, "").await
    }

    pub async fn live(&self) -> TcpStream {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).await.unwrap();
        let request = format!(
            "GET /api/live HTTP/1.1\r\nHost: localhost:{}\r\n\r\n",
            self.port
        );
        stream.write_all(request.as_bytes()).await.unwrap();
        stream
    }
}

fn unchunked(head: &str, body: &str) -> String {
    if !head
        .to_ascii_lowercase()
        .contains("transfer-encoding: chunked")
    {
        return body.to_owned();
    }
    let (mut rest, mut whole) = (body, String::new());
    while let Some((size, after)) = rest.split_once("\r\n") {
        let size = usize::from_str_radix(size, 16).unwrap();
        if size == 0 {
            break;
        }
        whole.push_str(&after[..size]);
        rest = &after[size + 2..];
    }
    whole
}

/// Reads a live stream until it has said `word` once more; gives all that came.
pub async fn until(stream: &mut TcpStream, word: &str) -> String {
    let mut all = String::new();
    let mut buffer = [0; 4096];
    timeout(PATIENCE, async {
        while !all.contains(word) {
            let n = stream.read(&mut buffer).await.unwrap();
            assert_ne!(n, 0, "the stream ended before {word:?}: {all}");
            all.push_str(&String::from_utf8_lossy(&buffer[..n]));
        }
    })
    .await
    .unwrap_or_else(|_| panic!("no {word:?} came"));
    all
}
