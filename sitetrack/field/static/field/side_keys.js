// The keys of a deviation: which side it is to, and the steps a tape or gauge is read in. A step without its side is
// half a reading: it is not told as one, since the side left out would be taken for the plus side.

import { h } from "./dom.js";
import { key } from "./key.js";
import { lowestText } from "./tape.js";

const PARTS = 32; // to the inch
const STEPS_IN = [1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 20, 24, 32];
const STEPS_MM = ["0.5", "1", "1.5", "2", "2.5", "3", "3.5", "4", "5", "6", "7", "8", "10", "12", "15"];

/** Whether the sides of a measure have names on site; how far a foot stands above the slab has none. */
function hasSides(measure, t) {
  return t.has(`side_${measure}_plus`);
}

/**
 * The reading so far, and the keys that fill it in.
 * @param {object} given measure, text (as it stands), units, t, onText(text), onOpenSide(size or ""), redraw()
 * @returns {() => HTMLElement[]} draws the keys as they stand
 */
export function sideKeys({ measure, text, units, t, onText, onOpenSide, redraw }) {
  const unit = units === "metric" ? " mm" : '"';
  const steps = units === "metric" ? STEPS_MM : STEPS_IN.map((parts) => lowestText(parts, PARTS));
  const zero = `0${unit}`;
  const sideAtFirst = hasSides(measure, t) ? null : "+";
  let size = text.replace(/^[-+]/, "").trim();
  let side = text.startsWith("-") ? "-" : size && size !== zero ? "+" : sideAtFirst;

  function give(nextSide, nextSize) {
    [side, size] = [nextSide, nextSize];
    const isWhole = size === zero || (size && side);
    onText(isWhole ? (side === "-" ? "-" : "") + size : "");
    onOpenSide(isWhole ? "" : size);
    redraw();
  }

  const sideKey = (sign) => {
    const name = `side_${measure}_${sign === "-" ? "minus" : "plus"}`;
    const words = [h("b", {}, sign === "-" ? "−" : "+"), " ", t.has(name) ? t(name) : ""];
    return key(words, side === sign, () => give(sign, size === zero ? "" : size), undefined, "key-wide");
  };
  const stepKey = (step) => key(step, size === step + unit, () => give(side, step + unit));

  return () => [
    h("div", { class: "key-row" }, sideKey("-"), sideKey("+")),
    h("div", { class: "key-grid" },
      key("0", size === zero, () => give(sideAtFirst, zero), t("exactly_true")), steps.map(stepKey)),
  ];
}
