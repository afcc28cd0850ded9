// Single keys. None acts while one types, with a modifier held, or when switched off (WCAG 2.2, 2.1.4).

const TYPED = "input, textarea, select, [contenteditable]";
const dialog = document.getElementById("keys");
const switched = document.getElementById("keys-on");

function kept() {
  try { return localStorage.getItem("keys") !== "off"; } catch { return true; }
}

function keep(on) {
  try { localStorage.setItem("keys", on ? "on" : "off"); } catch { /* kept for this page only */ }
}

const STOPS = "main a.target, main .ruled th a, main .list-mark";
const stops = () => [...document.querySelectorAll(STOPS)].filter((link) => link.offsetParent);
const field = document.getElementById("find");
const hits = () => [...document.querySelectorAll(".found .list-mark")];

/** To the next stop from where one is: the focus, or the first that can be seen. */
function step(by) {
  const all = stops();
  const at = all.indexOf(document.activeElement);
  const seen = all.findIndex((link) => link.getBoundingClientRect().top >= 0);
  const to = at < 0 ? (by > 0 ? seen : seen - 1) : at + by;
  all[Math.min(Math.max(to, 0), all.length - 1)]?.focus();
}

const press = (rel) => document.querySelector(`main a[rel~="${rel}"]`)?.click();

const ACTS = {
  "/": () => field?.select(),
  "?": () => dialog?.showModal(),
  ".": () => step(1),
  ",": () => step(-1),
  n: () => press("next"),
  p: () => press("prev"),
};

const ARROWS = { ArrowDown: ".", ArrowUp: "," };

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.defaultPrevented) return;
  if (event.target.closest?.(TYPED) || document.querySelector("dialog[open]")) return;
  const inList = stops().includes(document.activeElement);
  const act = ACTS[inList ? (ARROWS[event.key] ?? event.key) : event.key];
  if (!act || !kept()) return;
  event.preventDefault();
  act();
});

// From the search down into what it found, and back up: arrows in a search field write nothing.
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.defaultPrevented) return;
  const [first] = hits();
  if (!first) return;
  if (event.key === "ArrowDown" && [field, document.body].includes(event.target)) first.focus();
  else if (event.key === "ArrowUp" && event.target === first) field.focus();
  else return;
  event.preventDefault();
}, { capture: true });

if (switched) {
  switched.checked = kept();
  switched.addEventListener("change", () => keep(switched.checked));
}
