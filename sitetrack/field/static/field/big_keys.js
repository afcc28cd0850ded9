// Keys for gloves: one press for most readings. A size has its whole inches around what is expected and every
// sixteenth, with a thirty-second to add; a deviation has its side and the steps a tape or gauge is read in. `others`
// are keys of the caller's, in a row under them.

import { fill, h } from "./dom.js";
import { key } from "./key.js";
import { NM_PER_INCH, parseLength } from "./lengths.js";
import { DEVIATION, MEASURES, expectedSize } from "./measures.js";
import { sideKeys } from "./side_keys.js";
import { lowestText } from "./tape.js";

const PARTS = 32; // to the inch

/**
 * The keys of one measure.
 * @param {object} given measure, text (as it stands), opening, units, t, others (Node[]),
 *   onText(text): told of presses,
 *   onOpenSide(size): told of a deviation whose side is still to be chosen, and of "" once it is
 */
export function bigKeys({ measure, text, opening, units, t, others, onText, onOpenSide }) {
  const keys = h("div", { class: "keys", role: "group", "aria-label": t("keys_of", { measure: t(`m_${measure}`) }) });
  let now = text;
  const isDeviation = MEASURES[measure] === DEVIATION;
  const drawSides = isDeviation && sideKeys({ measure, text, units, t, onText, onOpenSide, redraw: draw });

  function press(next) {
    now = next;
    onText(next);
    draw();
  }

  // The keys are drawn anew at each press; whoever works them from a keyboard stays on the key they are on.
  function draw() {
    const at = [...keys.querySelectorAll("button")].indexOf(document.activeElement);
    redraw();
    if (at >= 0) keys.querySelectorAll("button")[at]?.focus({ preventScroll: true });
  }

  function redraw() {
    const last = (...own) => h("div", { class: "key-row" }, others, own);
    if (isDeviation) fill(keys, drawSides(), last());
    else if (units === "metric") fill(keys, digitKeys(now, t, press), last());
    else fill(keys, sizeKeys(now, wholeOf(expectedSize(measure, opening)), t, press, last));
  }

  draw();
  return keys;
}

function wholeOf(nm) {
  return nm === null ? null : Math.floor(nm / NM_PER_INCH);
}

// 32nds of an inch, or null where the text is none or finer than that.
function partsOf(text) {
  try {
    const parts = (parseLength(text) * PARTS) / NM_PER_INCH;
    return Number.isInteger(parts) ? parts : null;
  } catch {
    return null;
  }
}

function inchText(parts) {
  const sign = parts < 0 ? "-" : "";
  return `${sign}${lowestText(Math.abs(parts), PARTS)}"`;
}

function sizeKeys(text, expected, t, press, last) {
  const parts = partsOf(text);
  const whole = parts === null ? (expected ?? 36) : Math.floor(parts / PARTS);
  const rest = parts === null ? null : parts % PARTS;
  const sixteenth = rest === null ? null : Math.floor(rest / 2);
  const odd = rest !== null && rest % 2 === 1;
  const around = expected === null || Math.abs(whole - expected) > 1 ? whole : expected;
  const put = (inches, over) => press(inchText(inches * PARTS + over));
  const wholes = [-1, 0, 1].map((step) => {
    const inches = Math.max(0, around + step);
    const isWhole = inches === whole;
    const look = isWhole ? "key-base" : "";
    return key(`${inches}"`, isWhole && parts !== null, () => put(inches, rest ?? 0), undefined, look);
  });
  const by = (inches) => put(Math.max(0, whole + inches), rest ?? 0);
  const less = key("−", false, () => by(-1), t("inch_less"));
  const more = key("+", false, () => by(1), t("inch_more"));
  const fractions = Array.from({ length: 16 }, (_, n) =>
    key(n ? lowestText(n, 16) : "0", n === sixteenth, () => put(whole, n * 2 + (odd ? 1 : 0))),
  );
  return [
    h("div", { class: "key-row" }, less, wholes, more),
    h("div", { class: "key-grid" }, fractions),
    last(key("+ 1/32", odd, () => put(whole, (sixteenth ?? 0) * 2 + (odd ? 0 : 1)))),
  ];
}

function digitKeys(text, t, press) {
  const digits = text.replace(/[^0-9.]/g, "");
  const put = (next) => press(next ? `${next} mm` : "");
  const add = (sign) => {
    const next = digits + sign;
    if (/^\d{0,5}(\.\d?)?$/.test(next)) put(next);
  };
  const named = [..."123456789.0"].map((sign) => key(sign, false, () => add(sign)));
  const back = key("⌫", false, () => put(digits.slice(0, -1)), t("key_delete"));
  return h("div", { class: "key-grid key-grid-3" }, named, back);
}
