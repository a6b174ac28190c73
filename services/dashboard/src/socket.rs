//! Connections that cannot be held for ever. A deadline inside a response never fires for a client
//! that has stopped reading, and a half-sent request is not yet a request: both are ended here, at
//! the socket.

use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::serve::Listener;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Instant, Sleep};

/// Open connections. 64 live streams, as many pages being loaded, and room to spare; each costs a
/// few kilobytes and a file descriptor, of which a service has 1024.
const CONNECTIONS_MAX: usize = 256;

/// From the first byte of a request to the first byte of its answer. A request is at most 64 KiB
/// and an act waits at most ten seconds for its commit.
const REQUEST_MAX: Duration = Duration::from_secs(30);

/// Without a byte in either direction. A live stream says something every ten seconds, so only a
/// client that has stopped reading, or an idle kept-alive connection, gets here.
const SILENCE_MAX: Duration = Duration::from_secs(60);

/// For the other side to confirm what was sent: a phone that left the workshop's network.
const UNCONFIRMED_MAX_MS: u32 = 30_000;

/// A listener whose connections end when nothing moves.
pub(crate) struct Patient {
    inner: TcpListener,
    seats: std::sync::Arc<Semaphore>,
}

impl Patient {
    pub(crate) fn new(inner: TcpListener) -> Self {
        Self {
            inner,
            seats: std::sync::Arc::new(Semaphore::new(CONNECTIONS_MAX)),
        }
    }
}

impl Listener for Patient {
    type Io = Watched;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        loop {
            let seat = std::sync::Arc::clone(&self.seats)
                .acquire_owned()
                .await
                .expect("the semaphore is never closed");
            match TcpListener::accept(&self.inner).await {
                Ok((stream, from)) => {
                    tune(&stream);
                    return (Watched::new(stream, seat), from);
                }
                Err(error) => {
                    // A client gone before it was accepted, or no descriptors left: neither is for ever.
                    tracing::warn!("accepting a connection: {error}");
                    tokio::time::sleep(Duration::from_millis(200)).await;
                }
            }
        }
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        self.inner.local_addr()
    }
}

fn tune(stream: &TcpStream) {
    let set = stream
        .set_nodelay(true)
        .and_then(|()| Ok(rustix::net::sockopt::set_socket_keepalive(stream, true)?))
        .and_then(|()| {
            Ok(rustix::net::sockopt::set_tcp_user_timeout(
                stream,
                UNCONFIRMED_MAX_MS,
            )?)
        });
    if let Err(error) = set {
        tracing::debug!("setting the timeouts of a connection: {error}; going on without them");
    }
}

/// What the connection waits for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Phase {
    /// The rest of a request, or its answer.
    Request,
    /// The answer is going out.
    Answer,
}

/// A connection that fails with a time-out instead of waiting for ever.
pub(crate) struct Watched {
    stream: TcpStream,
    deadline: Pin<Box<Sleep>>,
    phase: Phase,
    _seat: OwnedSemaphorePermit,
}

impl Watched {
    fn new(stream: TcpStream, seat: OwnedSemaphorePermit) -> Self {
        Self {
            stream,
            deadline: Box::pin(tokio::time::sleep(REQUEST_MAX)),
            // A new connection is there to ask something: it has no right to the longer silence.
            phase: Phase::Request,
            _seat: seat,
        }
    }

    fn moved(&mut self, phase: Phase) {
        // Within a request the deadline stands: one byte at a time must not push it away.
        if phase == Phase::Request && self.phase == Phase::Request {
            return;
        }
        let wait = if phase == Phase::Request {
            REQUEST_MAX
        } else {
            SILENCE_MAX
        };
        self.phase = phase;
        // Tokio's own clock: it decides how long to wait and is never recorded.
        self.deadline.as_mut().reset(Instant::now() + wait);
    }

    fn late<T>(&mut self, cx: &mut Context<'_>) -> Poll<io::Result<T>> {
        match self.deadline.as_mut().poll(cx) {
            Poll::Ready(()) => Poll::Ready(Err(io::ErrorKind::TimedOut.into())),
            Poll::Pending => Poll::Pending,
        }
    }
}

impl AsyncRead for Watched {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = buf.filled().len();
        match Pin::new(&mut self.stream).poll_read(cx, buf) {
            Poll::Ready(Ok(())) if buf.filled().len() > before => {
                self.moved(Phase::Request);
                Poll::Ready(Ok(()))
            }
            Poll::Pending => self.late(cx),
            ready => ready,
        }
    }
}

impl AsyncWrite for Watched {
    fn poll_write(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &[u8],
    ) -> Poll<io::Result<usize>> {
        match Pin::new(&mut self.stream).poll_write(cx, buf) {
            Poll::Ready(Ok(n)) => {
                self.moved(Phase::Answer);
                Poll::Ready(Ok(n))
            }
            Poll::Pending => self.late(cx),
            ready => ready,
        }
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bufs: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        match Pin::new(&mut self.stream).poll_write_vectored(cx, bufs) {
            Poll::Ready(Ok(n)) => {
                self.moved(Phase::Answer);
                Poll::Ready(Ok(n))
            }
            Poll::Pending => self.late(cx),
            ready => ready,
        }
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}

#[cfg(test)]
mod tests {
    use tokio::io::{AsyncReadExt, AsyncWriteExt};

    use super::*;

    async fn pair() -> (Watched, TcpStream) {
        let inner = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let to = inner.local_addr().unwrap();
        let mut listener = Patient::new(inner);
        let (client, (server, _)) = tokio::join!(TcpStream::connect(to), listener.accept());
        (server, client.unwrap())
    }

    #[tokio::test(start_paused = true)]
    async fn a_request_sent_byte_by_byte_ends_at_its_deadline() {
        let (mut server, mut client) = pair().await;
        let began = tokio::time::Instant::now();
        let trickle = tokio::spawn(async move {
            while client.write_all(b"G").await.is_ok() {
                tokio::time::sleep(Duration::from_secs(1)).await;
            }
        });
        let mut byte = [0; 1];
        let error = loop {
            match server.read(&mut byte).await {
                Ok(_) => {}
                Err(error) => break error,
            }
        };
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        assert!(began.elapsed() <= REQUEST_MAX + Duration::from_secs(1));
        trickle.abort();
    }

    #[tokio::test(start_paused = true)]
    async fn a_client_that_stopped_reading_is_let_go_and_one_that_reads_is_not() {
        let (mut server, client) = pair().await;
        let block = vec![b'.'; 1 << 20];
        let error = loop {
            if let Err(error) = server.write_all(&block).await {
                break error;
            }
        };
        assert_eq!(
            error.kind(),
            io::ErrorKind::TimedOut,
            "the kernel's buffers are full"
        );
        drop(client);

        let (mut server, mut client) = pair().await;
        for _ in 0..30 {
            tokio::time::sleep(Duration::from_secs(10)).await;
            server.write_all(b"alive").await.unwrap();
            client.read_exact(&mut [0; 5]).await.unwrap();
        }
    }
}
