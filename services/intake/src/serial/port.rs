//! One open port.

use std::path::Path;
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio_serial::{ClearBuffer, SerialPort, SerialPortBuilderExt, SerialStream};

use super::LineShape;

/// One read: several frames of the longest kind.
const READ_BYTES: usize = 1024;
/// Silence after which no line can be under way: ten times the longest gap within a line, that of
/// one character at 300 bits per second.
const QUIET: Duration = Duration::from_millis(350);

/// A request is a few bytes: a port that does not take them in this time is stuck.
const ASK_MAX: Duration = Duration::from_millis(500);

/// What a port had to say.
pub(super) enum Heard<'a> {
    /// Bytes; never none.
    Bytes(&'a [u8]),
    /// Nothing for a while; told once after the last bytes.
    Quiet,
    /// The port is gone.
    Gone,
}

/// An open port and its buffer.
pub(super) struct Port {
    stream: SerialStream,
    buffer: Box<[u8; READ_BYTES]>,
    quiet_told: bool,
}

impl Port {
    /// Opens the port and throws away what the kernel had kept from before.
    pub(super) fn open(path: &Path, baud: u32, line: LineShape) -> tokio_serial::Result<Self> {
        let mut stream = tokio_serial::new(path.to_string_lossy(), baud)
            .data_bits(line.data_bits)
            .parity(line.parity)
            .stop_bits(line.stop_bits)
            .open_native_async()?;
        // Many interfaces are fed by these two lines. A pseudo-terminal has neither and says ENOTTY;
        // a port that does not need them works without.
        for (pin, raised) in [
            ("DTR", stream.write_data_terminal_ready(true)),
            ("RTS", stream.write_request_to_send(true)),
        ] {
            if let Err(error) = raised {
                tracing::debug!(path = %path.display(), pin, %error, "control line cannot be raised, going on");
            }
        }
        stream.clear(ClearBuffer::Input)?;
        Ok(Self {
            stream,
            buffer: Box::new([0; READ_BYTES]),
            quiet_told: false,
        })
    }

    /// Sends a request. A port that takes nothing gives no answer either, and that is told.
    pub(super) async fn ask(&mut self, request: &[u8]) {
        let sending = async {
            self.stream.write_all(request).await?;
            self.stream.flush().await
        };
        match tokio::time::timeout(ASK_MAX, sending).await {
            Ok(Ok(())) => {}
            Ok(Err(error)) => tracing::debug!(%error, "request not sent"),
            Err(_) => tracing::debug!("request not sent, the port takes nothing"),
        }
    }

    /// Waits for bytes. Can be dropped at any point without losing any.
    pub(super) async fn hear(&mut self) -> Heard<'_> {
        let reading = self.stream.read(&mut self.buffer[..]);
        let read = if self.quiet_told {
            reading.await
        } else if let Ok(read) = tokio::time::timeout(QUIET, reading).await {
            read
        } else {
            self.quiet_told = true;
            return Heard::Quiet;
        };
        match read {
            // An unplugged port reads as empty for ever: going on would be a busy loop.
            Ok(0) => Heard::Gone,
            Ok(count) => {
                self.quiet_told = false;
                Heard::Bytes(&self.buffer[..count])
            }
            Err(error) => {
                tracing::debug!(%error, "port gone");
                Heard::Gone
            }
        }
    }
}
