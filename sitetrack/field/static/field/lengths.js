// Exact lengths, read as a crew writes them: whole nanometres, as the server keeps them, so that both judge the same
// number. One inch is 25,400,000 nm by definition (international yard, 1959).

import { lowestText } from "./tape.js";

export const NM_PER_INCH = 25_400_000;
export const NM_PER_MM = 1_000_000;
const NM_PER_UNIT = {
  in: 25_400_000n,
  ft: 304_800_000n,
  mm: 1_000_000n,
  cm: 10_000_000n,
  m: 1_000_000_000n,
};
const LONGEST_TEXT = 40;
const LONGEST_NM = 1_000_000_000_000n;

/** What a bare number means on a site that works in those units. */
export const BARE_UNIT = { imperial: "in", metric: "mm" };

/** A length that can't be used; `code` is one of unreadable, too-long, out-of-range, not-positive. */
export class LengthError extends Error {
  constructor(code) {
    super(code);
    this.code = code;
  }
}

const VULGAR = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
const PLAIN = {
  "′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "−": "-", "–": "-", "⁄": "/", "\u00a0": " ",
};
const NUMBER = String.raw`(?:[0-9]+\.?[0-9]*|\.[0-9]+)`;
const METRIC = new RegExp(String.raw`^(${NUMBER})\s*(mm|cm|m)$`);
const IMPERIAL = new RegExp(
  String.raw`^(?:(?<feet>${NUMBER})\s*(?:'(?!')|ft\.?|feet|foot)\s*(?<dash>-?)\s*)?` +
    String.raw`(?:(?:(?<decimal>${NUMBER})(?:(?:\s+|-)(?<mixed>[0-9]+/[0-9]+))?|(?<alone>[0-9]+/[0-9]+))` +
    String.raw`\s*(?<mark>"|''|in\.?|inch|inches)?)?$`,
);

/**
 * Reads a length; a bare number is in `unit`. The sign in front belongs to the whole.
 * @param {string} text
 * @param {"in"|"ft"|"mm"|"cm"|"m"} unit
 * @returns {number} nanometres
 * @throws {LengthError}
 */
export function parseLength(text, unit = "in") {
  const plain = plainText(text);
  const body = "-+".includes(plain[0]) ? plain.slice(1).trimStart() : plain;
  const nm = magnitude(body, unit);
  if (nm > LONGEST_NM) throw new LengthError("out-of-range");
  return plain[0] === "-" ? -Number(nm) || 0 : Number(nm);
}

/** As `parseLength`, and it must lie from `least` to `most` nanometres, both allowed. */
export function parseLengthBetween(text, least, most, unit = "in") {
  const nm = parseLength(text, unit);
  if (least > 0 && nm <= 0) throw new LengthError("not-positive");
  if (nm < least || nm > most) throw new LengthError("out-of-range");
  return nm;
}

/**
 * Writes a length in the site's units, rounded half away from zero to 1/`denominator` in or 0.1 mm.
 * @param {number} nm
 * @param {"imperial"|"metric"} units
 */
export function formatLength(nm, units, { denominator = 32, feet = false } = {}) {
  if (units === "metric") {
    const tenths = roundHalfAway(Math.abs(nm), NM_PER_MM / 10);
    const sign = nm < 0 && tenths ? "-" : "";
    return `${sign}${Math.floor(tenths / 10)}${tenths % 10 ? `.${tenths % 10}` : ""} mm`;
  }
  const parts = roundHalfAway(Math.abs(nm) * denominator, NM_PER_INCH);
  const sign = nm < 0 && parts ? "-" : "";
  if (!feet) return `${sign}${lowestText(parts, denominator)}"`;
  const inches = Math.floor(parts / denominator);
  const fraction = parts % denominator ? ` ${lowestText(parts % denominator, denominator)}` : "";
  return `${sign}${Math.floor(inches / 12)}'-${inches % 12}${fraction}"`;
}

/** A whole number of `over` parts rounded half to even, from exact integers. */
export function roundedQuotient(over, under) {
  const quotient = over / under;
  const rest = over % under;
  const twice = 2n * (rest < 0n ? -rest : rest);
  const up = twice > under || (twice === under && quotient % 2n !== 0n);
  if (!up) return quotient;
  return over < 0n ? quotient - 1n : quotient + 1n;
}

function plainText(text) {
  if ([...text].length > LONGEST_TEXT) throw new LengthError("too-long");
  let plain = text.replace(/[′’‘″”“−–⁄\u00a0]/g, (mark) => PLAIN[mark]).trim().toLowerCase();
  for (const [sign, written] of Object.entries(VULGAR)) {
    if (plain.includes(sign)) plain = plain.replaceAll(sign, ` ${written}`).replaceAll("- ", "-").trim();
  }
  if (!plain) throw new LengthError("unreadable");
  return plain;
}

function magnitude(body, unit) {
  const metric = METRIC.exec(body);
  if (metric) return toNm(decimalParts(metric[1]), metric[2]);
  const found = body ? IMPERIAL.exec(body)?.groups : undefined;
  if (!found) throw new LengthError("unreadable");
  const fraction = found.mixed ?? found.alone;
  const bare = found.feet === undefined && found.mark === undefined;
  if (bare && unit !== "in" && unit !== "ft" && fraction !== undefined) throw new LengthError("unreadable");
  if (found.decimal?.includes(".") && fraction !== undefined) throw new LengthError("unreadable");
  const whole = decimalParts(found.decimal ?? "0");
  const amount = sum(whole, fractionParts(fraction, found.decimal !== undefined));
  if (found.feet === undefined) return toNm(amount, found.mark === undefined ? unit : "in");
  const hasInches = found.decimal !== undefined || found.alone !== undefined;
  if (found.dash && !hasInches) throw new LengthError("unreadable");
  if (hasInches && found.feet.includes(".")) throw new LengthError("unreadable");
  if (amount[0] >= 12n * amount[1]) throw new LengthError("unreadable");
  const feet = decimalParts(found.feet);
  return toNm(sum([feet[0] * 12n, feet[1]], amount), "in");
}

// Numerator and denominator of a decimal as written, so that 0.1 means one tenth and not its binary neighbour.
function decimalParts(text) {
  const [whole, rest = ""] = text.split(".");
  return [BigInt(whole + rest || "0"), 10n ** BigInt(rest.length)];
}

function fractionParts(text, proper) {
  if (text === undefined) return [0n, 1n];
  const [over, under] = text.split("/").map(BigInt);
  if (![2n, 4n, 8n, 16n, 32n, 64n].includes(under)) throw new LengthError("unreadable");
  if (proper && over >= under) throw new LengthError("unreadable");
  return [over, under];
}

function sum([a, b], [c, d]) {
  return [a * d + c * b, b * d];
}

function toNm([over, under], unit) {
  return roundedQuotient(over * NM_PER_UNIT[unit], under);
}

function roundHalfAway(amount, step) {
  return Math.floor((2 * amount + step) / (2 * step));
}
