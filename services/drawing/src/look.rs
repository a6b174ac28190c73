//! The rules of the look, as a style sheet.

/// Rules for every drawing on a page; the page gives the colours as variables.
pub const CSS: &str = "\
.drawn{display:block;width:100%;height:auto;fill:none;stroke-linecap:round;stroke-linejoin:round}\
.drawn .cut,.drawn .section{stroke:var(--scribe);stroke-width:1.3}\
.drawn .bend{stroke:var(--scribe);stroke-width:.7;stroke-dasharray:8 2.5 1.5 2.5;opacity:.8}\
.drawn .hidden{stroke:var(--scribe);stroke-width:.6;stroke-dasharray:3 2.5;opacity:.6}\
.drawn .face{fill:var(--scribe);fill-opacity:.22}\
.drawn .line,.drawn .leader{stroke:var(--faint);stroke-width:.7}\
.drawn .head{fill:var(--faint)}\
.drawn .due .line{stroke:var(--mark);stroke-width:1.6}\
.drawn .leader.due{stroke:var(--mark);stroke-width:1.2}\
.drawn .due .head{fill:var(--mark)}\
.drawn text{font-size:11px;text-anchor:middle;dominant-baseline:central;font-variant-numeric:tabular-nums;fill:var(--soft)}\
.drawn circle{fill:var(--sheet);stroke:var(--faint);stroke-width:.9}\
.drawn .ring.due circle{fill:var(--mark);stroke:var(--mark)}\
.drawn .ring.due text{font-size:15px;font-weight:700;fill:var(--sheet)}\
.drawn .ring.due .value{font-size:16px;fill:var(--mark)}\
.drawn .ring.pass circle{stroke:var(--pass);stroke-width:1.3}\
.drawn .ring.over circle{stroke:var(--over);stroke-width:1.8}\
.drawn .ring.under circle{stroke:var(--under);stroke-width:1.8}\
.drawn .ring.undecided circle{stroke:var(--undecided);stroke-width:1.8;stroke-dasharray:5 3}\
.drawn .ring.held circle{stroke:var(--held);stroke-width:1.4;stroke-dasharray:3 2.2}\
.drawn .glass{fill:var(--sheet)}\
.drawn .rim{stroke:var(--mark);stroke-width:1.2}\
.drawn .loupe .value{font-size:18px;font-weight:700;fill:var(--mark);stroke:var(--sheet);stroke-width:5;paint-order:stroke}\
.drawn .broken{fill:var(--ground,var(--sheet))}\
.drawn .side{stroke:var(--mark);stroke-width:6;stroke-linecap:butt}\
.drawn.key .ring.due text{font-size:18px}\
.drawn .badge{stroke-width:2}\
.drawn .badge.pass{stroke:var(--pass)}\
.drawn .badge.undecided{stroke:var(--undecided)}\
.drawn .badge.held{stroke:var(--held)}\
.drawn .badge.over{fill:var(--over)}\
.drawn .badge.under{fill:var(--under)}";

/// Colours for a drawing that stands by itself, on white paper.
pub(crate) const STANDALONE: &str = "\
.drawn{--sheet:#fff;--soft:#465a70;--scribe:#14304f;--faint:#8fa6bf;--mark:#8a5a00;--pass:#0b6b41;--over:#a8230f;\
--under:#8a4a00;--held:#5b3fb0;--undecided:#005b75;background:var(--sheet);font-family:sans-serif}";
