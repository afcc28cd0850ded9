// What the schedule tells of an opening; what it does not tell is said to be unknown, which is not the same as none.

import { h } from "./dom.js";
import { BARE_UNIT, formatLength, parseLength } from "./lengths.js";

/** A length of the schedule in nanometres, however it came: as {text, in, mm}, as text, or not at all (null). */
export function scheduledLength(value, units = "imperial") {
  if (value === null || value === undefined || value === "") return null;
  if (typeof value === "object") return Number.isFinite(value.mm) ? Math.round(value.mm * 1e6) : null;
  try {
    return parseLength(String(value), BARE_UNIT[units]);
  } catch {
    return null;
  }
}

/** Width and height to judge readings against; null where the schedule's size is not that of the opening itself. */
export function nominalSize(opening) {
  const told = opening?.attributes ?? {};
  if (told.size_is && told.size_is !== "opening") return { width: null, height: null, hand: told.hand };
  return { width: scheduledLength(told.width), height: scheduledLength(told.height), hand: told.hand };
}

/** Size in a line: 3'-0" × 7'-0". */
export function sizeText(opening, units) {
  const told = opening.attributes ?? {};
  const [width, height] = [scheduledLength(told.width), scheduledLength(told.height)];
  if (width === null || height === null) return "";
  return `${formatLength(width, units, { feet: true })} × ${formatLength(height, units, { feet: true })}`;
}

// What a checklist asks of a frame in the hand: "as scheduled" is no question without the schedule beside it.
const ASKED_AT_WORK = ["size", "hand", "jamb_depth", "rating", "hardware", "covering"];

/** The facts as rows of term and description. */
export function factRows(opening, phone) {
  return factsOf(opening, phone).map((fact) => factRow(fact, phone.t));
}

/** What is known of the facts that a stage asks after, in a few lines; null where nothing is. */
export function knownFacts(opening, phone) {
  const known = factsOf(opening, phone).filter(([name, value]) => value && ASKED_AT_WORK.includes(name));
  if (!known.length) return null;
  return h("dl", { class: "known-facts", "aria-label": phone.t("facts") },
    known.map((fact) => h("div", {}, factRow(fact, phone.t))));
}

function factRow([name, value], t) {
  return [h("dt", {}, t(`fact_${name}`)), h("dd", {}, value || h("span", { class: "unknown" }, t("unknown")))];
}

// Name and value of each, null or "" where the schedule does not tell.
function factsOf(opening, phone) {
  const { t } = phone;
  const told = opening.attributes ?? {};
  const yesNo = (value) => (value === true ? t("yes") : value === false ? t("no") : null);
  const rating = (minutes) => {
    if (minutes === 0) return t("not_rated");
    return Number.isFinite(minutes) ? t("minutes", { n: minutes }) : told.rating_text;
  };
  const units = phone.site?.units ?? "imperial";
  const construction = told.construction && t.stored("construction", told.construction);
  const length = (value) => {
    const nm = scheduledLength(value);
    return nm === null ? null : formatLength(nm, units);
  };
  return [
    ["size", sizeText(opening, units)],
    ["hand", told.hand],
    ["leaves", told.leaves],
    ["frame", [told.mark, construction].filter(Boolean).join(", ")],
    ["jamb_depth", length(told.jamb_depth)],
    ["rating", rating(told.rating_minutes)],
    ["electrified", yesNo(told.electrified)],
    ["hardware", told.hardware_set],
    ["covering", told.covering],
    ["rooms", [told.room_from, told.room_to].filter(Boolean).join(" → ")],
  ];
}
