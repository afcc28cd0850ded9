// Openings put where they stand: dragged or pressed onto the plan, moved, taken off, and the last step undone.
//
// Every step is kept by the server before the next of the same opening; what it refuses goes back to where it was.

import { spotOf, zoomable } from "./floor_zoom.js";

const SVG = "http://www.w3.org/2000/svg";
const TENTH = 0.1;
const sheet = document.querySelector("[data-pins]");
const { left, top, metres, address } = sheet.dataset;
const standing = sheet.querySelector("[data-standing]");
const tray = document.querySelector("[data-tray]");
const undoButton = document.querySelector("[data-undo]");
const said = document.querySelector("[data-said]");
const token = document.querySelector("[name=csrfmiddlewaretoken]").value;
const openings = new Map(); // id → {id, number, version, spot in metres or null, pin, item, kept: Promise}
const steps = []; // what Undo goes back through: {opening, before}
let carried = null;

const unit = (spot) => [(spot[0] - Number(left)) / Number(metres), (Number(top) - spot[1]) / Number(metres)];
const metre = (point) => [Number(left) + point.x * Number(metres), Number(top) - point.y * Number(metres)];

function tell(text) {
  said.textContent = text;
}

function draw(opening) {
  const { spot } = opening;
  if (spot && !opening.pin) {
    opening.pin = makePin(opening);
    standing.append(opening.pin);
  }
  if (!spot && opening.pin) {
    opening.pin.remove();
    opening.pin = null;
  }
  if (spot) opening.pin.setAttribute("transform", `translate(${unit(spot).map((n) => n.toFixed(2)).join(" ")})`);
  if (spot && opening.pin) opening.pin.setAttribute("aria-label", `${opening.number}: ${spot.map((n) => n.toFixed(1)).join(" m, ")} m`);
  if (spot && opening.item) {
    opening.item.remove();
    opening.item = null;
  } else if (!spot && !opening.item) {
    opening.item = document.createElement("li");
    tray.append(opening.item);
    fillItem(opening);
  }
  document.querySelector("[data-tray-count]").textContent = tray.children.length;
  document.querySelector("[data-tray-empty]").hidden = tray.children.length > 0;
}

function makePin({ number }) {
  const make = (name, attributes, ...inside) => {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    made.append(...inside);
    return made;
  };
  return make("g", { class: "pin" }, make("g", { class: "keeps-size" }, make("path", { class: "pin-cross", d: "M-7 0H7M0-7V7" }),
    make("circle", { class: "pin-dot", r: 3.5 }), make("text", { class: "pin-number", x: 9, y: -8 }, number)));
}

function readyPin(opening) {
  const { pin } = opening;
  if (!pin || pin.dataset.ready) return;
  pin.dataset.ready = "yes";
  pin.setAttribute("tabindex", "0");
  pin.setAttribute("role", "button");
  pin.setAttribute("aria-describedby", "how-pins");
  pin.addEventListener("keydown", (event) => onKey(opening, event));
  pin.addEventListener("pointerdown", (event) => drag(opening, event));
}

function fillItem(opening) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = opening.number;
  button.setAttribute("aria-pressed", "false");
  button.addEventListener("pointerdown", (event) => drag(opening, event));
  button.addEventListener("click", (event) => {
    if (event.detail === 0) toMiddle(opening);
    else carry(opening);
  });
  const room = opening.item.querySelector(".by");
  opening.item.replaceChildren(button, ...(room ? [room] : []));
}

function carry(opening) {
  carried = opening;
  for (const button of tray.querySelectorAll("button")) {
    button.setAttribute("aria-pressed", String(button.parentElement === opening?.item));
  }
}

function following(item) {
  const next = item?.nextElementSibling ?? tray.firstElementChild;
  return [...openings.values()].find((each) => each.item && each.item === next && next !== item) ?? null;
}

// By keyboard: into the middle of what is seen, in focus, to be moved by arrows.
function toMiddle(opening) {
  const box = sheet.parentElement.getBoundingClientRect();
  const point = spotOf(sheet, { clientX: box.left + box.width / 2, clientY: box.top + box.height / 2 });
  move(opening, metre(point));
  opening.pin.focus();
}

function move(opening, spot, { undoing = false } = {}) {
  const before = opening.spot;
  opening.spot = spot;
  draw(opening);
  readyPin(opening);
  if (!undoing) steps.push({ opening, before });
  undoButton.disabled = steps.length === 0;
  opening.kept = (opening.kept ?? Promise.resolve()).then(() => keep(opening, spot, before));
}

async function keep(opening, spot, before) {
  const body = new URLSearchParams({
    csrfmiddlewaretoken: token, [`v-${opening.id}`]: opening.version, [`m-${opening.id}`]: spot ? spot.join(" ") : "",
  });
  try {
    const answer = await fetch(address, { method: "POST", body, headers: { Accept: "application/json" } });
    const told = await answer.json();
    if (!answer.ok) throw new Error(told.detail);
    for (const each of told.moved) opening.version = each.version;
    tell(spot ? `${opening.number} ${sheet.dataset.moved} ${spot.map((n) => n.toFixed(1)).join(" m, ")} m` : `${opening.number} ${sheet.dataset.off}`);
    sheet.dispatchEvent(new CustomEvent("kept"));
  } catch (fault) {
    tell(fault instanceof TypeError || fault instanceof SyntaxError ? sheet.dataset.failed : fault.message);
    if (opening.spot === spot) {
      opening.spot = before;
      draw(opening);
      readyPin(opening);
    }
  }
}

function undo() {
  const step = steps.pop();
  undoButton.disabled = steps.length === 0;
  if (step) move(step.opening, step.before, { undoing: true });
}

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

function onKey(opening, event) {
  const arrow = ARROWS[event.key];
  if (arrow && opening.spot) {
    event.preventDefault();
    const step = event.shiftKey ? 1 : TENTH;
    nudge(opening, [opening.spot[0] + arrow[0] * step, opening.spot[1] + arrow[1] * step]);
  } else if (event.key === "Delete" || event.key === "Backspace") {
    event.preventDefault();
    move(opening, null);
    opening.item.querySelector("button").focus();
  }
}

// A run of arrow keys is one step: kept, and undone, as a whole.
function nudge(opening, spot) {
  opening.from ??= opening.spot;
  opening.spot = spot;
  draw(opening);
  clearTimeout(opening.timer);
  opening.timer = setTimeout(() => {
    const { from } = opening;
    opening.from = undefined;
    opening.spot = from;
    move(opening, spot);
  }, 500);
}

function drag(opening, event) {
  if (event.button !== 0) return;
  event.preventDefault();
  const start = [event.clientX, event.clientY];
  const from = opening.spot;
  let moved = false;
  opening.pin?.focus();
  const over = (at) => {
    const box = sheet.parentElement.getBoundingClientRect();
    return at.clientX >= box.left && at.clientX <= box.right && at.clientY >= box.top && at.clientY <= box.bottom;
  };
  const go = (at) => {
    moved ||= Math.hypot(at.clientX - start[0], at.clientY - start[1]) > 4;
    if (!moved || !opening.pin) return;
    const point = spotOf(sheet, at);
    opening.pin.setAttribute("transform", `translate(${point.x} ${point.y})`);
  };
  const end = (at) => {
    stop();
    if (!moved) return;
    if (over(at)) move(opening, metre(spotOf(sheet, at)));
    else if (from) draw(opening);
  };
  const cancel = () => {
    stop();
    draw(opening);
  };
  const stop = () => {
    removeEventListener("pointermove", go);
    removeEventListener("pointerup", end);
    removeEventListener("pointercancel", cancel);
  };
  addEventListener("pointermove", go);
  addEventListener("pointerup", end);
  addEventListener("pointercancel", cancel);
}

for (const pin of standing.querySelectorAll("[data-pin]")) {
  const { pin: id, number, version } = pin.dataset;
  const point = pin.transform.baseVal.consolidate().matrix;
  const opening = { id, number, version, pin, item: null, spot: metre({ x: point.e, y: point.f }) };
  openings.set(id, opening);
  draw(opening);
  readyPin(opening);
}
for (const item of tray.querySelectorAll("[data-tray-item]")) {
  const { trayItem: id, number, version } = item.dataset;
  const opening = { id, number, version, pin: null, item, spot: null };
  openings.set(id, opening);
  fillItem(opening);
}
sheet.addEventListener("click", (event) => {
  if (!carried || event.target.closest(".pin")) return;
  const opening = carried;
  const next = following(opening.item);
  move(opening, metre(spotOf(sheet, event)));
  carry(next);
});
undoButton.addEventListener("click", undo);
addEventListener("keydown", (event) => {
  if ((event.ctrlKey || event.metaKey) && event.key === "z" && !event.target.closest("input, textarea")) {
    event.preventDefault();
    undo();
  }
});
document.querySelector("[data-how]").hidden = false;
zoomable(sheet, document.querySelector("[data-zoom]"));
