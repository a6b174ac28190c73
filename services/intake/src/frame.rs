//! Bytes in, frames out. Pure: knows terminators, not meanings.

/// Longest frame kept. Gauge lines are under 32 bytes and a bridge's JSON under 160; whatever is
/// longer is noise, and keeping more of it would let a broken gauge fill the history.
pub const FRAME_BYTES_MAX: usize = 256;

/// What ends a frame. There is no setting without one: a line cut off by an unplugged cable
/// (`+12.` of `+12.340`) would otherwise be a wrong reading.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Terminator {
    /// A carriage return or a line feed, whichever comes.
    #[default]
    CrOrLf,
    /// A carriage return.
    Cr,
    /// A line feed.
    Lf,
    /// A carriage return and then a line feed.
    CrLf,
}

/// What came between two terminators. An empty frame says nothing and is not reported.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Frame<'f> {
    /// A whole frame, without its terminator.
    Whole(&'f [u8]),
    /// The first [`FRAME_BYTES_MAX`] bytes of a longer one.
    Oversize(&'f [u8]),
    /// Bytes that are not a whole frame: what came before the first terminator after the port was
    /// opened, or after the last one before it closed. Kept so that nothing received is lost.
    Cut(&'f [u8]),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Inside {
    /// Since opening no terminator has come: these bytes may be the tail of a line.
    Joining,
    /// A frame that began after a terminator.
    Frame,
    /// The rest of a frame that was too long, or of the line we joined.
    Skipping,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape {
    Whole,
    Oversize,
    Cut,
}

impl Shape {
    const fn of(self, bytes: &[u8]) -> Frame<'_> {
        match self {
            Self::Whole => Frame::Whole(bytes),
            Self::Oversize => Frame::Oversize(bytes),
            Self::Cut => Frame::Cut(bytes),
        }
    }
}

/// Cuts a stream of bytes into frames; how the stream was chopped up on its way changes nothing. One
/// frame is in memory at a time.
#[derive(Clone, Debug)]
pub struct Framer {
    terminator: Terminator,
    held: Vec<u8>,
    /// What is held was handed out and is forgotten at the next byte.
    handed_out: bool,
    inside: Inside,
    after_cr: bool,
}

impl Framer {
    /// A framer for a port just opened.
    #[must_use]
    pub fn new(terminator: Terminator) -> Self {
        Self {
            terminator,
            held: Vec::with_capacity(FRAME_BYTES_MAX),
            handed_out: false,
            inside: Inside::Joining,
            after_cr: false,
        }
    }

    /// The line was quiet since the port was opened, so the next byte begins a frame. Without
    /// effect once a byte has come.
    pub fn quiet(&mut self) {
        self.forget();
        if self.inside == Inside::Joining && self.held.is_empty() && !self.after_cr {
            self.inside = Inside::Frame;
        }
    }

    /// Takes bytes off the front of `bytes` up to the end of the next frame, and gives that frame.
    pub fn next(&mut self, bytes: &mut &[u8]) -> Option<Frame<'_>> {
        self.forget();
        while let Some((&byte, rest)) = bytes.split_first() {
            *bytes = rest;
            if let Some(shape) = self.take(byte) {
                self.handed_out = true;
                return Some(shape.of(&self.held));
            }
        }
        None
    }

    /// The port closed: what is left is not a frame.
    pub fn close(&mut self) -> Option<Frame<'_>> {
        self.forget();
        if self.after_cr
            && self.terminator == Terminator::CrLf
            && let Some(shape) = self.keep(b'\r')
        {
            self.handed_out = true;
            return Some(shape.of(&self.held));
        }
        self.handed_out = true;
        (!self.held.is_empty()).then_some(Frame::Cut(&self.held))
    }

    fn forget(&mut self) {
        if std::mem::take(&mut self.handed_out) {
            self.held.clear();
        }
    }

    fn take(&mut self, byte: u8) -> Option<Shape> {
        let ends = match self.terminator {
            Terminator::CrOrLf => byte == b'\r' || byte == b'\n',
            Terminator::Cr => byte == b'\r',
            Terminator::Lf => byte == b'\n',
            Terminator::CrLf => return self.take_of_two(byte),
        };
        if ends { self.end() } else { self.keep(byte) }
    }

    /// A carriage return ends the frame only if a line feed follows; otherwise it was part of it.
    fn take_of_two(&mut self, byte: u8) -> Option<Shape> {
        let after_cr = std::mem::replace(&mut self.after_cr, byte == b'\r');
        match (after_cr, byte) {
            (true, b'\n') => self.end(),
            (false, b'\r') => None,
            (true, b'\r') => self.keep(b'\r'),
            (true, _) => {
                let first = self.keep(b'\r');
                first.or(self.keep(byte))
            }
            (false, _) => self.keep(byte),
        }
    }

    fn keep(&mut self, byte: u8) -> Option<Shape> {
        if self.inside == Inside::Skipping {
            return None;
        }
        if self.held.len() < FRAME_BYTES_MAX {
            self.held.push(byte);
            return None;
        }
        let joining = self.inside == Inside::Joining;
        self.inside = Inside::Skipping;
        Some(if joining { Shape::Cut } else { Shape::Oversize })
    }

    fn end(&mut self) -> Option<Shape> {
        let inside = std::mem::replace(&mut self.inside, Inside::Frame);
        match inside {
            _ if self.held.is_empty() => None,
            Inside::Joining => Some(Shape::Cut),
            Inside::Frame => Some(Shape::Whole),
            Inside::Skipping => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// A frame that outlives its framer.
    #[derive(Clone, Debug, PartialEq, Eq)]
    struct Kept(&'static str, Vec<u8>);

    fn kept(frame: Frame<'_>) -> Kept {
        match frame {
            Frame::Whole(raw) => Kept("whole", raw.to_vec()),
            Frame::Oversize(raw) => Kept("oversize", raw.to_vec()),
            Frame::Cut(raw) => Kept("cut", raw.to_vec()),
        }
    }

    fn frames(terminator: Terminator, chunks: &[&[u8]]) -> Vec<Kept> {
        let mut framer = Framer::new(terminator);
        let mut out = Vec::new();
        for chunk in chunks {
            let mut rest = *chunk;
            while let Some(frame) = framer.next(&mut rest) {
                out.push(kept(frame));
            }
        }
        out.extend(framer.close().map(kept));
        out
    }

    fn whole(text: &str) -> Kept {
        kept(Frame::Whole(text.as_bytes()))
    }

    fn cut(text: &str) -> Kept {
        kept(Frame::Cut(text.as_bytes()))
    }

    #[test]
    fn each_terminator_cuts_where_it_says() {
        let cases: &[(Terminator, &str, &[Kept])] = &[
            (
                Terminator::CrOrLf,
                "\r1\r\n2\n3\r\r4",
                &[whole("1"), whole("2"), whole("3"), cut("4")],
            ),
            (Terminator::Cr, "\r1\n\r2\r", &[whole("1\n"), whole("2")]),
            (Terminator::Lf, "\n1\r\n2\n", &[whole("1\r"), whole("2")]),
            (
                Terminator::CrLf,
                "\r\n1\r2\n\r\n3\r\r\n4\r",
                &[whole("1\r2\n"), whole("3\r"), cut("4\r")],
            ),
            // What came before the first terminator may be the tail of a line: kept, not a frame.
            (
                Terminator::CrOrLf,
                "2.340\r1\r",
                &[cut("2.340"), whole("1")],
            ),
            (Terminator::CrOrLf, "+12.", &[cut("+12.")]),
        ];
        for (terminator, bytes, expected) in cases {
            assert_eq!(
                frames(*terminator, &[bytes.as_bytes()]),
                *expected,
                "{terminator:?} {bytes:?}"
            );
        }
    }

    #[test]
    fn a_line_quiet_since_opening_begins_with_a_frame_but_a_joined_one_does_not() {
        for (quiet_after, expected) in [("", whole("12.3")), ("1", cut("12.3"))] {
            let mut framer = Framer::new(Terminator::CrOrLf);
            assert_eq!(framer.next(&mut quiet_after.as_bytes()), None);
            framer.quiet();
            let mut rest = &b"12.3\r"[quiet_after.len()..];
            assert_eq!(framer.next(&mut rest).map(kept), Some(expected));
            assert_eq!(framer.next(&mut rest), None);
            assert_eq!(framer.close(), None);
        }
    }

    #[test]
    fn an_oversize_frame_is_kept_once_up_to_the_limit_and_the_next_frame_is_whole() {
        let long = "7".repeat(3 * FRAME_BYTES_MAX);
        let expected = [
            kept(Frame::Oversize(&[b'7'; FRAME_BYTES_MAX])),
            whole("12.3"),
        ];
        assert_eq!(
            frames(Terminator::CrOrLf, &[b"\r", long.as_bytes(), b"\r12.3\r"]),
            expected
        );
        let full = "7".repeat(FRAME_BYTES_MAX);
        assert_eq!(
            frames(Terminator::CrOrLf, &[b"\r", full.as_bytes(), b"\r"]),
            [whole(&full)]
        );
    }

    proptest! {
        #[test]
        fn how_the_stream_is_chopped_never_changes_the_frames(
            bytes in proptest::collection::vec(prop_oneof![Just(b'\r'), Just(b'\n'), Just(b'7'), any::<u8>()], 0..900),
            run in 0..600_usize,
            cuts in proptest::collection::vec(0..900_usize, 0..12),
            which in 0..4_usize,
        ) {
            let terminator = [Terminator::CrOrLf, Terminator::Cr, Terminator::Lf, Terminator::CrLf][which];
            let mut bytes = bytes;
            bytes.splice(bytes.len() / 2..bytes.len() / 2, std::iter::repeat_n(b'8', run));
            let mut cuts: Vec<usize> = cuts.into_iter().map(|c| c.min(bytes.len())).collect();
            cuts.sort_unstable();
            let mut chunks = Vec::new();
            let mut from = 0;
            for cut in cuts {
                chunks.push(&bytes[from..cut]);
                from = cut;
            }
            chunks.push(&bytes[from..]);
            let at_once = frames(terminator, &[&bytes]);
            prop_assert_eq!(&at_once, &frames(terminator, &chunks));
            for frame in at_once {
                prop_assert!(!frame.1.is_empty() && frame.1.len() <= FRAME_BYTES_MAX);
            }
        }
    }
}
