//! The font of printed pages: DejaVu Sans Condensed, whose licence stands beside it in `assets/`. It has every
//! mark a drawing needs (°, ′, ″, Ø, ±, µ) and the letters of most scripts.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider as _};

/// The font file.
pub const FONT: &[u8] = include_bytes!("../../assets/DejaVuSansCondensed.ttf");

/// Height of a capital, as part of the size.
pub(crate) const CAPITAL: f64 = 0.73;
/// Shown for what the font does not have.
const INSTEAD: char = '\u{25a1}';

/// The font, read.
pub(crate) struct Face {
    pub(crate) font: Font,
    metrics: FontRef<'static>,
}

impl Face {
    pub(crate) fn read() -> Self {
        Self {
            font: Font::new(FONT.to_vec().into(), 0).expect("the font is a font"),
            metrics: FontRef::new(FONT).expect("the font is a font"),
        }
    }

    /// How wide a text is at size 1.
    pub(crate) fn width(&self, text: &str) -> f64 {
        let advances = text.chars().map(|c| f64::from(self.glyph(c).1));
        advances.sum()
    }

    /// The glyphs of a text, one for each character. Scripts whose letters join or that run to the left come out
    /// as single letters in the order they were written.
    pub(crate) fn glyphs(&self, text: &str) -> Vec<KrillaGlyph> {
        text.char_indices()
            .map(|(at, c)| {
                let (glyph, advance) = self.glyph(c);
                KrillaGlyph {
                    glyph_id: GlyphId::new(glyph),
                    text_range: at..at + c.len_utf8(),
                    x_advance: advance,
                    x_offset: 0.0,
                    y_offset: 0.0,
                    y_advance: 0.0,
                    location: None,
                }
            })
            .collect()
    }

    fn glyph(&self, c: char) -> (u32, f32) {
        let map = self.metrics.charmap();
        let id = map
            .map(c)
            .or_else(|| map.map(INSTEAD))
            .unwrap_or(skrifa::GlyphId::NOTDEF);
        let metrics = self
            .metrics
            .glyph_metrics(Size::new(1.0), LocationRef::default());
        (id.to_u32(), metrics.advance_width(id).unwrap_or(0.0))
    }
}
