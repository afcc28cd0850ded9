// One key of a reading: pressed or not, told to eye and ear.

import { button } from "./dom.js";

/** @param {*} words @param {boolean} chosen @param {() => void} onPress */
export function key(words, chosen, onPress, label = undefined, look = "") {
  const classes = `key${chosen ? " key-on" : ""} ${look}`.trim();
  return button(words, onPress, { class: classes, "aria-pressed": String(chosen), "aria-label": label });
}
