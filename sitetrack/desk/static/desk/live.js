// Keeps a page fresh: asks again every so often, shows what changed, says how old it is and when the server is away.
// A half-filled form, a selection or an open dialog is never taken from under a person's hands: what is new then waits.

const EVERY_MS = 40_000 + Math.random() * 15_000; // apart, so that many pages do not ask at the same moment
const LATE_MS = 1_000;
const line = document.getElementById("live-line");
const words = line?.dataset ?? {};
let checkedAt = Date.now();
let away = false;
let waiting = false; // something new is held back
let shown = [];

const region = () => document.getElementById("live");

/** Whether someone is in the middle of something here. */
export function busy(root) {
  const at = document.activeElement;
  if (root.contains(at) && at.matches("input:not([type=checkbox], [type=radio], [type=submit]), textarea, select")) return true;
  if (document.querySelector("dialog[open]") || root.querySelector("[data-in-hand]")) return true;
  const chosen = getSelection();
  if (chosen && !chosen.isCollapsed && root.contains(chosen.anchorNode)) return true;
  return [...root.querySelectorAll("input, textarea, select")].some(changed);
}

function changed(field) {
  if (field.type === "hidden") return false;
  if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
  if (field.tagName === "SELECT") {
    const asDrawn = [...field.options].findIndex((option) => option.defaultSelected);
    return field.selectedIndex !== Math.max(0, asDrawn);
  }
  return field.value !== field.defaultValue;
}

const keyOf = (details) => details.id || details.querySelector("summary")?.textContent.trim() || "";

function openOnes(root) {
  return [...root.querySelectorAll("details[open]")].map(keyOf);
}

function ask() {
  if (!document.hidden && region()) htmx.trigger(region(), "look");
}

function say(sentence) {
  const told = document.getElementById("live-told");
  if (told && told.textContent !== sentence) told.textContent = sentence;
}

function tick() {
  const age = document.getElementById("live-age");
  if (!age) return;
  const seconds = Math.round((Date.now() - checkedAt) / 1000);
  age.textContent = seconds < 90
    ? words.seconds.replace("[n]", seconds)
    : words.minutes.replace("[n]", Math.round(seconds / 60));
}

function heard() {
  checkedAt = Date.now();
  if (away) say("");
  away = false;
  line.classList.remove("live-away");
  tick();
}

function lost(sentence) {
  away = true;
  line.classList.add("live-away");
  say(sentence);
}

function hold() {
  waiting = true;
  say(words.waiting);
  document.getElementById("live-now").hidden = false;
}

function begin() {
  document.body.addEventListener("htmx:beforeSwap", (event) => {
    if (event.detail.target !== region()) return;
    const answer = event.detail.xhr;
    if (answer.status === 304) { event.detail.shouldSwap = false; return; }
    if (!answer.getResponseHeader("ETag")) { // signed out meanwhile, or no page any more
      event.detail.shouldSwap = false;
      lost(words.gone);
      return;
    }
    if (busy(region())) { event.detail.shouldSwap = false; heard(); hold(); return; }
    shown = openOnes(region());
    waiting = false;
    document.getElementById("live-now").hidden = true;
    say("");
  });
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (!region()) return;
    for (const details of region().querySelectorAll("details")) {
      if (shown.includes(keyOf(details))) details.open = true;
    }
  });
  document.body.addEventListener("htmx:afterRequest", (event) => {
    const answer = event.detail.xhr;
    if (answer && (answer.status === 304 || answer.getResponseHeader("ETag"))) heard();
  });
  for (const fault of ["htmx:sendError", "htmx:timeout"]) {
    document.body.addEventListener(fault, () => lost(words.away));
  }
  document.body.addEventListener("htmx:responseError", (event) => {
    lost(event.detail.xhr.status < 500 ? words.gone : words.away);
  });
  document.getElementById("live-now").addEventListener("click", () => location.reload());
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && Date.now() - checkedAt > LATE_MS) ask();
  });
  addEventListener("online", ask);
  setInterval(() => (waiting && busy(region()) ? undefined : ask()), EVERY_MS);
  setInterval(tick, 5_000);
  tick();
}

if (line && globalThis.htmx) begin();
