// A question before what is better not done by mistake. Its key stands elsewhere than the one that asked, and sleeps
// for a moment: the second knock of a gloved finger falls on nothing, wherever the page has moved to under it.

import { fill, h } from "./dom.js";
import { wideKey } from "./parts.js";

const WAKES_MS = 1_000;

/**
 * A place for a question, hidden until it is asked.
 * @param {string} words on the key that does it all the same
 * @param {() => unknown} onSure
 */
export function question(words, onSure) {
  const box = h("div", { class: "asked", tabindex: -1, hidden: true });
  let waking = 0;

  function ask(...content) {
    const key = wideKey(words, onSure, "key-out", { disabled: true });
    clearTimeout(waking);
    waking = setTimeout(() => { key.disabled = false; }, WAKES_MS);
    fill(box, h("div", { role: "alert" }, content), key);
    box.hidden = false;
    box.scrollIntoView({ block: "nearest" });
    box.focus({ preventScroll: true });
  }

  return { box, ask, drop: () => { box.hidden = true; } };
}
