//! One connection, from its first byte to its last.

use std::net::SocketAddr;
use std::time::Duration;

use bytes::BytesMut;
use rumqttc::mqttbytes::v4::{ConnAck, Connect, ConnectReturnCode, Packet};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio::net::tcp::{OwnedReadHalf, OwnedWriteHalf};
use tokio::time::{Instant, sleep_until, timeout};

use super::Hall;
use super::guests::Stranger;
use super::packets::{self, Malformed};
use super::talk::Talk;
use crate::mqtt::PACKET_BYTES_MAX;

/// How long a stranger has to say who it is: a slow radio link needs a second or two.
const HANDSHAKE: Duration = Duration::from_secs(10);
/// Largest CONNECT: names, a password and a last will are a few hundred bytes.
const CONNECT_BYTES_MAX: usize = 2048;
/// Room made for each read; a reading is under 200 bytes.
const READ_BYTES: usize = 1024;
/// A client that takes nothing for this long while something waits for it is given up.
const STUCK: Duration = Duration::from_secs(10);
/// How long an orderly end waits for what was handed in to be committed and acknowledged.
const GRACE: Duration = Duration::from_secs(2);
/// How long the last acknowledgements have to arrive before the connection is torn down.
const FAREWELL: Duration = Duration::from_millis(250);

/// Why a connection ended.
#[derive(Debug, thiserror::Error)]
pub(super) enum End {
    #[error("it said goodbye")]
    Farewell,
    #[error("the connection broke: {0}")]
    Broken(#[from] std::io::Error),
    #[error("it closed the connection without a goodbye")]
    Gone,
    #[error("it sent what no packet may be: {0}")]
    Malformed(#[from] Malformed),
    #[error("it did not say who it is within {} s", HANDSHAKE.as_secs())]
    Speechless,
    #[error("it sent something else before saying who it is, or said it twice")]
    OutOfTurn,
    #[error("it may not connect ({0:?}), expected a user of [mqtt.client] and its password")]
    Unknown(ConnectReturnCode),
    #[error(
        "its last will is for {0:?}, expected a will for the state of a gauge it may speak for"
    )]
    Will(String),
    #[error("it published to {0:?}, expected the topics of gauges and sensors it may speak for")]
    Impostor(String),
    #[error("it was silent for one and a half times its keep-alive")]
    Silent,
    #[error("it takes nothing of what waits for it")]
    Stuck,
    #[error("its client connected again")]
    TakenOver,
    #[error("oddleg stops")]
    Stopping,
}

/// Serves one connection.
pub(super) async fn serve(stream: TcpStream, from: SocketAddr, hall: &Hall, stranger: Stranger) {
    if let Err(error) = prepare(&stream) {
        tracing::debug!(%from, %error, "an MQTT connection cannot be set up as wanted, going on");
    }
    let (mut reader, mut writer) = stream.into_split();
    let mut bytes = BytesMut::new();
    let end = match hello(&mut reader, &mut writer, &mut bytes, hall).await {
        Ok(connect) => known(reader, writer, bytes, connect, from, hall, stranger).await,
        Err(end) => end,
    };
    match end {
        End::Farewell | End::Stopping | End::TakenOver => {
            tracing::debug!(%from, why = %end, "MQTT connection over")
        }
        _ => tracing::warn!(%from, why = %end, "MQTT connection over"),
    }
}

/// A peer that lost its power says nothing more, and one without keep-alive would never be missed.
fn prepare(stream: &TcpStream) -> rustix::io::Result<()> {
    use rustix::net::sockopt;
    // Acknowledgements are four bytes; they shall not wait for company.
    sockopt::set_tcp_nodelay(stream, true)?;
    sockopt::set_socket_keepalive(stream, true)?;
    sockopt::set_tcp_keepidle(stream, Duration::from_secs(120))?;
    sockopt::set_tcp_keepintvl(stream, Duration::from_secs(20))?;
    sockopt::set_tcp_keepcnt(stream, 3)
}

/// Waits for the CONNECT.
async fn hello(
    reader: &mut OwnedReadHalf,
    writer: &mut OwnedWriteHalf,
    bytes: &mut BytesMut,
    hall: &Hall,
) -> Result<Connect, End> {
    let first = async {
        loop {
            match packets::next(bytes, CONNECT_BYTES_MAX) {
                Ok(Some(Packet::Connect(connect))) => return Ok(connect),
                Ok(Some(_)) => return Err(End::OutOfTurn),
                Ok(None) => {}
                Err(Malformed::Version) => {
                    answer(writer, ConnectReturnCode::RefusedProtocolVersion).await?;
                    return Err(Malformed::Version.into());
                }
                Err(malformed) => return Err(malformed.into()),
            }
            read(reader, bytes).await?;
        }
    };
    tokio::select! {
        first = timeout(HANDSHAKE, first) => first.unwrap_or(Err(End::Speechless)),
        () = hall.stop.cancelled() => Err(End::Stopping),
    }
}

async fn known(
    reader: OwnedReadHalf,
    mut writer: OwnedWriteHalf,
    bytes: BytesMut,
    connect: Connect,
    from: SocketAddr,
    hall: &Hall,
    stranger: Stranger,
) -> End {
    let admitted = hall.far_end.users.admit(&connect);
    // A name we would have to make up is good only for a session that is not to be found again (3.1.3.1).
    let nameless = connect.client_id.is_empty() && !connect.clean_session;
    let (user, code) = match (admitted, nameless) {
        (Ok(_), true) => (None, ConnectReturnCode::BadClientId),
        (Ok(user), false) => (Some(user), ConnectReturnCode::Success),
        (Err(code), _) => (None, code),
    };
    let Some(user) = user else {
        return match answer(&mut writer, code).await {
            Ok(()) => End::Unknown(code),
            Err(end) => end,
        };
    };
    let mut talk = Talk::new(hall, user, connect.last_will);
    if let Err(end) = talk.check_will() {
        return match answer(&mut writer, ConnectReturnCode::NotAuthorized).await {
            Ok(()) => end,
            Err(end) => end,
        };
    }
    let seat = hall.seats.take(&talk.user.name, &connect.client_id).await;
    // From here on it is known. It was a stranger while it waited, so that it could not wait in numbers.
    drop(stranger);
    tracing::debug!(%from, user = talk.user.name, client = connect.client_id, "MQTT client connected");
    let keep_alive = Duration::from_secs(u64::from(connect.keep_alive));
    let mut line = Line {
        reader,
        writer,
        bytes,
        silence_max: (!keep_alive.is_zero()).then_some(keep_alive * 3 / 2),
    };
    talk.say(&Packet::ConnAck(ConnAck::new(
        ConnectReturnCode::Success,
        false,
    )));
    let end = tokio::select! {
        end = line.talk(&mut talk) => end,
        () = seat.taken() => End::TakenOver,
        () = hall.stop.cancelled() => End::Stopping,
    };
    match end {
        // The gauge has not gone: we have.
        End::Stopping => line.part(&mut talk).await,
        End::Farewell => {}
        _ => talk.leave_will().await,
    }
    end
}

/// A connection's two directions.
struct Line {
    reader: OwnedReadHalf,
    writer: OwnedWriteHalf,
    bytes: BytesMut,
    silence_max: Option<Duration>,
}

impl Line {
    /// Talks until the connection ends. Every step can be dropped without losing what it did not do.
    async fn talk(&mut self, talk: &mut Talk<'_>) -> End {
        let (mut heard_at, mut moved_at) = (Instant::now(), Instant::now());
        loop {
            while talk.has_room() {
                match packets::next(&mut self.bytes, PACKET_BYTES_MAX) {
                    Ok(Some(packet)) => {
                        if let Err(end) = talk.hear(packet).await {
                            return end;
                        }
                        heard_at = Instant::now();
                    }
                    Ok(None) => break,
                    Err(malformed) => return malformed.into(),
                }
            }
            if !talk.has_room() {
                // It is we who do not listen now.
                heard_at = Instant::now();
            }
            if talk.out.is_empty() {
                moved_at = Instant::now();
            }
            let silent_at = self.silence_max.map(|silence| heard_at + silence);
            let stuck_at = (!talk.out.is_empty()).then_some(moved_at + STUCK);
            tokio::select! {
                ticket = talk.outcomes.recv() => talk.told(ticket),
                written = self.writer.write_buf(&mut talk.out), if !talk.out.is_empty() => match written {
                    Ok(0) => return End::Gone,
                    Ok(_) => moved_at = Instant::now(),
                    Err(error) => return error.into(),
                },
                more = read(&mut self.reader, &mut self.bytes), if talk.has_room() => {
                    if let Err(end) = more {
                        return end;
                    }
                }
                news = talk.news.recv(), if talk.wants_news() => talk.pass_on(news),
                () = until(silent_at) => return End::Silent,
                () = until(stuck_at) => return End::Stuck,
            }
        }
    }

    /// What was handed in is committed and acknowledged; then the line is closed so that the last
    /// acknowledgements arrive: closing with unread bytes would tear them down on their way.
    async fn part(&mut self, talk: &mut Talk<'_>) {
        let acknowledged = async {
            loop {
                while !talk.out.is_empty() {
                    if self.writer.write_buf(&mut talk.out).await.unwrap_or(0) == 0 {
                        return;
                    }
                }
                if talk.is_settled() {
                    break;
                }
                let ticket = talk.outcomes.recv().await;
                talk.told(ticket);
            }
            if self.writer.shutdown().await.is_ok() {
                let drained = async {
                    while read(&mut self.reader, &mut self.bytes).await.is_ok() {
                        self.bytes.clear();
                    }
                };
                // It closes its side, or had its time.
                timeout(FAREWELL, drained).await.unwrap_or(());
            }
        };
        if timeout(GRACE, acknowledged).await.is_err() {
            tracing::debug!("leaving an MQTT client with messages open, it will send them again");
        }
    }
}

/// The moment, or never.
async fn until(moment: Option<Instant>) {
    match moment {
        Some(moment) => sleep_until(moment).await,
        None => std::future::pending().await,
    }
}

async fn read(reader: &mut OwnedReadHalf, bytes: &mut BytesMut) -> Result<(), End> {
    bytes.reserve(READ_BYTES);
    match reader.read_buf(bytes).await? {
        0 => Err(End::Gone),
        _ => Ok(()),
    }
}

/// Refuses a CONNECT with its code.
async fn answer(writer: &mut OwnedWriteHalf, code: ConnectReturnCode) -> Result<(), End> {
    let mut bytes = BytesMut::new();
    if ConnAck::new(code, false).write(&mut bytes).is_ok() {
        timeout(STUCK, writer.write_all(&bytes))
            .await
            .map_err(|_| End::Stuck)??;
    }
    Ok(())
}
