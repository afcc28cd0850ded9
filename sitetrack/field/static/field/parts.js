// Pieces that every page is put together from.

import { button, h } from "./dom.js";
import { openingPlace } from "./places.js";

/** The page's one heading; going somewhere puts the reader on it. */
export function title(...words) {
  return h("h1", { tabindex: -1 }, words);
}

/** The heading of something done at an opening, with the way back to it. */
export function titleAt(number, words) {
  return title(h("a", { class: "number back", href: openingPlace(number) }, "‹ ", number), " ", words);
}

/** A part of a page, ruled off from the one before, under a heading of its own. */
export function part(heading, ...children) {
  return h("section", { class: "part" }, h("h2", {}, heading), children);
}

export function hint(...words) {
  return h("p", { class: "hint" }, words);
}

export function problem(...words) {
  return h("p", { class: "problem" }, words);
}

/** A key as wide as the page; `kind` is how it looks: "key-go", "key-out" or nothing. */
export function wideKey(words, onClick, kind = "", attributes = {}) {
  return button(words, onClick, { class: `key key-wide ${kind}`.trim(), ...attributes });
}

/** A link that is pressed like a key. */
export function wideLink(words, href, kind = "") {
  return h("a", { class: `key key-wide ${kind}`.trim(), href }, words);
}

/** A key that is one of several to choose from. */
export function choiceKey(words, isChosen, onClick, attributes = {}) {
  return wideKey(words, onClick, isChosen ? "key-on" : "", { "aria-pressed": String(isChosen), ...attributes });
}

/** What there is of several things, in a line. */
export function joined(things, between = " · ") {
  return things.filter(Boolean).join(between);
}
