//! A port opened to find out what speaks there.

use std::io;
use std::path::Path;
use std::time::Duration;

use super::LineShape;
use super::port::{Heard, Port};

/// An open port, read without any meaning.
pub struct Probe(Port);

impl Probe {
    /// Opens a port, for ourselves alone where the system can.
    ///
    /// # Errors
    /// The system's reason: not there, not ours to open, another program has it.
    pub fn open(path: &Path, baud: u32, line: LineShape) -> io::Result<Self> {
        Port::open(path, baud, line)
            .map(Self)
            .map_err(|error| match error.kind() {
                // So the serial library calls a port that another program keeps for itself.
                tokio_serial::ErrorKind::NoDevice => io::ErrorKind::ResourceBusy.into(),
                _ => error.into(),
            })
    }

    /// Sends a request. What comes of it is heard, or nothing is.
    pub async fn ask(&mut self, request: &[u8]) {
        self.0.ask(request).await;
    }

    /// The next bytes; none where nothing came for as long.
    ///
    /// # Errors
    /// The port is gone.
    pub async fn hear(&mut self, wait: Duration) -> io::Result<Vec<u8>> {
        let heard = async {
            loop {
                match self.0.hear().await {
                    Heard::Bytes(bytes) => return Ok(bytes.to_vec()),
                    Heard::Quiet => {}
                    Heard::Gone => return Err(io::ErrorKind::BrokenPipe.into()),
                }
            }
        };
        tokio::time::timeout(wait, heard)
            .await
            .unwrap_or(Ok(Vec::new()))
    }
}
