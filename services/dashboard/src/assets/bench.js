// The bench's live line. Each event is the whole bench as finished HTML, numbered by the entry it
// shows; this module puts it in place and does no arithmetic on anything measured.

const bench = document.getElementById("bench");
const lost = document.getElementById("lost");
const lostAt = document.getElementById("lost-at");
const refused = document.getElementById("refused");
const said = document.getElementById("said");

// The server speaks every ten seconds; after two missed signs of life the line is dead.
const SILENCE_MS = 25_000;
const AGAIN_MS = 3_000;
// What is replaced by itself when it has changed.
const SECTIONS = "[id^='s-']";

let source = null;
let silence = 0;
let heardAt = new Date();
let shown = new Map();
let waiting = null;

function clock(date) {
  const two = (n) => String(n).padStart(2, "0");
  return `${two(date.getHours())}:${two(date.getMinutes())}:${two(date.getSeconds())}`;
}

function heard() {
  heardAt = new Date();
  lost.hidden = true;
  document.body.classList.remove("away");
  clearTimeout(silence);
  silence = setTimeout(() => { gone(); open(); }, SILENCE_MS);
}

function gone() {
  if (!lost.hidden) return;
  lostAt.textContent = clock(heardAt);
  lost.hidden = false;
  document.body.classList.add("away");
}

function open() {
  if (source) source.close();
  clearTimeout(silence);
  silence = setTimeout(() => { gone(); open(); }, SILENCE_MS);
  const line = new EventSource(`/api/live?bench=${encodeURIComponent(bench.dataset.bench)}`);
  source = line;
  line.onmessage = (event) => { heard(); put(event.data, event.lastEventId); };
  line.addEventListener("alive", heard);
  line.onerror = () => {
    if (source !== line) return;
    gone();
    // A refused connection is not tried again by the browser itself.
    if (line.readyState === EventSource.CLOSED) setTimeout(() => { if (source === line) open(); }, AGAIN_MS);
  };
}

// A section under a finger, or with a word half composed, is not pulled away: the newest waits.
let held = false;
let composing = false;
addEventListener("pointerdown", () => { held = true; }, true);
for (const end of ["pointerup", "pointercancel"]) {
  addEventListener(end, () => setTimeout(() => { held = false; flush(); }, 60), true);
}
addEventListener("compositionstart", () => { composing = true; });
addEventListener("compositionend", () => { composing = false; flush(); });
addEventListener("change", () => setTimeout(flush, 0));

function put(html, seq) {
  waiting = { html, seq };
  flush();
}

function choosing() {
  return document.activeElement instanceof HTMLSelectElement && bench.contains(document.activeElement);
}

function flush() {
  if (!waiting || held || composing || choosing()) return;
  const { html, seq } = waiting;
  waiting = null;
  const fresh = document.createElement("template");
  fresh.innerHTML = html;
  for (const section of [...fresh.content.querySelectorAll(SECTIONS)]) {
    const text = section.outerHTML;
    const old = document.getElementById(section.id);
    if (old && shown.get(section.id) === text) continue;
    const first = !shown.has(section.id);
    shown.set(section.id, text);
    if (!old) { bench.append(section); continue; }
    if (first && old.outerHTML === text) continue;
    replace(old, section);
    if (section.id === "s-last") spoken(old, section);
  }
  bench.dataset.seq = seq;
}

addEventListener("focusout", () => setTimeout(flush, 0));

function spoken(old, section) {
  const words = section.dataset.said;
  const when = (s) => s.querySelector("time")?.textContent;
  if (!words || (old.dataset.said === words && when(old) === when(section))) return;
  // The same words twice in a row must be spoken twice.
  said.textContent = "";
  setTimeout(() => { said.textContent = words; }, 50);
  section.classList.add("arrived");
}

// Keeps what a person is in the middle of: focus, typed text, opened details, scrolled tables.
function replace(old, section) {
  for (const field of old.querySelectorAll("input[type=text][id]")) {
    const next = section.querySelector(`#${CSS.escape(field.id)}`);
    if (next && field.value !== field.defaultValue) next.value = field.value;
  }
  for (const field of old.querySelectorAll("select[id]")) {
    const next = section.querySelector(`#${CSS.escape(field.id)}`);
    const began = [...field.options].findIndex((o) => o.defaultSelected);
    if (next && field.selectedIndex !== Math.max(began, 0)) next.value = field.value;
  }
  for (const details of old.querySelectorAll("details[id]")) {
    const next = section.querySelector(`#${CSS.escape(details.id)}`);
    if (next) next.open = details.open;
  }
  const active = old.contains(document.activeElement) ? document.activeElement : null;
  const caret = active instanceof HTMLInputElement ? [active.selectionStart, active.selectionEnd] : null;
  const scrolled = [...old.querySelectorAll(".wide")].map((e) => e.scrollLeft);
  old.replaceWith(section);
  [...section.querySelectorAll(".wide")].forEach((e, i) => { e.scrollLeft = scrolled[i] ?? 0; });
  if (!active) return;
  // A summary has no id of its own; its details has.
  const next = active.id ? document.getElementById(active.id) : document.getElementById(active.closest("details")?.id)?.querySelector("summary");
  if (!next) return;
  next.focus({ preventScroll: true });
  if (caret && caret[0] !== null && next.setSelectionRange) next.setSelectionRange(caret[0], caret[1]);
}

// Forms are posted without leaving the page. What comes of it arrives by the stream.
addEventListener("submit", async (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || form.method !== "post" || !bench.contains(form)) return;
  event.preventDefault();
  if (form.dataset.busy) return;
  const once = form.querySelector("input[data-once]");
  // Kept until it has been answered: sending again after a lost answer records it once.
  if (once && !once.value) once.value = [...crypto.getRandomValues(new Uint32Array(4))].map((n) => n.toString(36)).join("-");
  const fields = Object.fromEntries(new FormData(form));
  // Of several buttons, the one pressed says what is meant.
  if (event.submitter?.name) fields[event.submitter.name] = event.submitter.value;
  form.dataset.busy = "1";
  event.submitter?.setAttribute("aria-busy", "true");
  refused.hidden = true;
  try {
    const answer = await fetch(form.getAttribute("action"), {
      method: "POST",
      headers: { "Content-Type": "application/json", Accept: "application/json" },
      body: JSON.stringify(fields),
    });
    if (answer.ok) {
      done(form, once);
    } else {
      const problem = await answer.json().catch(() => null);
      refuse(problem?.detail ?? `the server answered ${answer.status}`);
      // Refused is answered: nothing was written under this id. Without an answer it stays.
      if (once && answer.status < 500) once.value = "";
    }
  } catch {
    refuse("no answer came; look whether it was recorded before doing it again");
  } finally {
    const now = document.getElementById(event.submitter?.id) ?? event.submitter;
    now?.removeAttribute("aria-busy");
    delete form.dataset.busy;
  }
});

function done(form, once) {
  if (once) once.value = "";
  // The form may have been replaced by a newer one while the answer was on its way.
  for (const field of form.querySelectorAll("input[type=text][id]")) {
    for (const each of new Set([field, document.getElementById(field.id)])) {
      if (each) each.value = each.name === "text" ? "" : each.defaultValue;
    }
  }
  form.closest("details")?.removeAttribute("open");
  const details = form.closest("details");
  if (details?.id) document.getElementById(details.id)?.removeAttribute("open");
}

// Read and understood: the person goes on.
addEventListener("input", () => { refused.hidden = true; });

function refuse(detail) {
  refused.textContent = `Not done: ${detail}.`;
  refused.hidden = false;
}

// A phone that was put away may have missed its line's end: look at once when it is back.
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible" && (source?.readyState !== EventSource.OPEN || new Date() - heardAt > SILENCE_MS)) open();
});
addEventListener("pagehide", () => source?.close());
addEventListener("pageshow", (event) => { if (event.persisted) open(); });

for (const section of bench.querySelectorAll(SECTIONS)) shown.set(section.id, section.outerHTML);
open();
