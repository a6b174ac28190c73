//! A careful gauge bridge, spoken byte by byte: one reading at a time with an id of its own, sent again over a
//! new connection until the far end acknowledges exactly that one. What it calls acknowledged, is.

use std::io::{Error, ErrorKind, Read as _, Write as _};
use std::net::TcpStream;
use std::time::Duration;

use bytes::BytesMut;
use rumqttc::QoS;
use rumqttc::mqttbytes::v4::{Connect, Packet, Publish};

use crate::broker::{BRIDGE, PASSWORD};

/// Most bytes of a packet from the broker to a bridge: acknowledgements are four.
const PACKET_BYTES_MAX: usize = 1024;

/// A bridge and its connection, while there is one.
#[derive(Debug)]
pub struct Bridge {
    port: u16,
    client_id: String,
    connection: Option<TcpStream>,
    packet: u16,
}

impl Bridge {
    /// A bridge to the broker, or to oddleg itself, on `port`.
    #[must_use]
    pub fn to(port: u16) -> Self {
        Self::named(port, "careful-bridge")
    }

    /// The same under a client id of its own: of two with one id the older is thrown out.
    #[must_use]
    pub fn named(port: u16, client_id: &str) -> Self {
        Self {
            port,
            client_id: client_id.to_owned(),
            connection: None,
            packet: 0,
        }
    }

    /// A connection logged in as [`BRIDGE`], for one that then says what no careful bridge would.
    ///
    /// # Errors
    /// The far end is not there or does not let it in.
    pub fn log_in(port: u16, client_id: &str) -> Result<TcpStream, Error> {
        connect(port, client_id)
    }

    /// Publishes a reading until it is acknowledged or `give_up` says so; whether it was acknowledged.
    pub fn publish(&mut self, payload: &str, give_up: impl Fn() -> bool) -> bool {
        while !give_up() {
            match self.attempt(payload) {
                Ok(()) => return true,
                Err(_) => {
                    self.connection = None;
                    std::thread::sleep(Duration::from_millis(20));
                }
            }
        }
        false
    }

    fn attempt(&mut self, payload: &str) -> Result<(), Error> {
        let mut connection = match self.connection.take() {
            Some(connection) => connection,
            None => connect(self.port, &self.client_id)?,
        };
        self.packet = self.packet % u16::MAX + 1;
        let mut publish = Publish::new(
            format!("oddleg/gauges/{BRIDGE}/reading"),
            QoS::AtLeastOnce,
            payload,
        );
        publish.pkid = self.packet;
        let mut bytes = BytesMut::new();
        publish.write(&mut bytes).map_err(odd)?;
        connection.write_all(&bytes)?;
        match next(&mut connection)? {
            Packet::PubAck(ack) if ack.pkid == self.packet => {
                self.connection = Some(connection);
                Ok(())
            }
            other => Err(odd(format!("{other:?}"))),
        }
    }
}

fn connect(port: u16, client_id: &str) -> Result<TcpStream, Error> {
    let mut connection = TcpStream::connect(("127.0.0.1", port))?;
    connection.set_nodelay(true)?;
    connection.set_read_timeout(Some(Duration::from_secs(2)))?;
    let mut connect = Connect::new(client_id);
    connect.set_login(BRIDGE, PASSWORD);
    let mut bytes = BytesMut::new();
    connect.write(&mut bytes).map_err(odd)?;
    connection.write_all(&bytes)?;
    match next(&mut connection)? {
        Packet::ConnAck(_) => Ok(connection),
        other => Err(odd(format!("{other:?}"))),
    }
}

/// The next packet. One is awaited at a time, so nothing follows it in the same bytes.
fn next(connection: &mut TcpStream) -> Result<Packet, Error> {
    let mut bytes = BytesMut::new();
    let mut chunk = [0; 64];
    loop {
        let count = connection.read(&mut chunk)?;
        if count == 0 {
            return Err(Error::from(ErrorKind::UnexpectedEof));
        }
        bytes.extend_from_slice(&chunk[..count]);
        match Packet::read(&mut bytes, PACKET_BYTES_MAX) {
            Ok(packet) => return Ok(packet),
            Err(rumqttc::mqttbytes::Error::InsufficientBytes(_)) => {}
            Err(error) => return Err(odd(error)),
        }
    }
}

fn odd(what: impl std::fmt::Debug) -> Error {
    Error::new(ErrorKind::InvalidData, format!("{what:?}"))
}
