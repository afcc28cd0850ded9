// What the server will make of a set of readings, worked out on the phone at once and shown as a preview: the same
// items, limits and rules. The server decides. The limits come from the server, each with its source; none stands here.

import { LengthError, roundedQuotient } from "./lengths.js";
import { MEASURES, readMeasure } from "./measures.js";
import { findContradictions } from "./reconciliation.js";

/**
 * @typedef {{limit_nm: number, source?: object}} Limit
 * @typedef {{limits: Record<string, Limit>, required?: string[], units: "imperial"|"metric"}} Profile
 *   limits by name: squareness, alignment, twist, plumb, width_over, width_under, disagreement, clear_width,
 *   gap_least (left out where the rule sets none), gap_most, gap_meeting_most, gap_bottom_most.
 */

/**
 * Judges readings as typed; what can't be read is listed in `unreadable` and counts as not taken.
 * @param {Record<string, string>} texts
 * @param {{width: number|null, height: number|null}} opening nanometres
 * @param {Profile} profile
 * @param {string[]} [required] replaces the profile's own list
 */
export function judge(texts, opening, profile, required = profile.required ?? []) {
  const { lengths, unreadable } = readAll(texts, profile.units);
  const known = Boolean(opening?.width && opening?.height);
  const items = [...frameItems(lengths, known ? opening : null, profile.limits), ...doorItems(lengths, profile.limits)];
  const missing = required.filter((name) => (name === "floor_rise" ? !texts.floor_rise : !(name in lengths)));
  if (!known) missing.push("opening.width", "opening.height");
  const contradictions = known ? findContradictions(lengths, opening, profile.limits.disagreement.limit_nm) : [];
  let verdict = "pass";
  if (items.some((item) => item.verdict === "fail")) verdict = "fail";
  else if (missing.length || contradictions.length || !items.length || Object.keys(unreadable).length) {
    verdict = "incomplete";
  }
  return { verdict, items, missing, contradictions, unreadable };
}

/** Judges the answers of a checklist: each must be given and be the one expected. */
export function judgeAnswers(answers, checklist) {
  const verdicts = checklist.map((item) => {
    const given = answers[item.code];
    if (given === undefined || given === null) return "incomplete";
    return given === (item.expect ?? true) ? "pass" : "fail";
  });
  return worst(["pass", ...verdicts]);
}

/** The worst of several verdicts; a fail is worse than incomplete. */
export function worst(verdicts) {
  return ["fail", "incomplete", "pass"].find((verdict) => verdicts.includes(verdict));
}

function readAll(texts, units) {
  const lengths = {};
  const unreadable = {};
  for (const [name, text] of Object.entries(texts)) {
    if (!(name in MEASURES) || text === null || text === undefined || text === "") continue;
    try {
      lengths[name] = readMeasure(name, text, units);
    } catch (error) {
      if (!(error instanceof LengthError)) throw error;
      unreadable[name] = error.code;
    }
  }
  return { lengths, unreadable };
}

function item(name, value, least, most, low, high, derived = false) {
  const margin = Math.min(value - least, most - value);
  const nearerLow = value - least < most - value;
  return { name, value, least, most, margin, verdict: margin >= 0 ? "pass" : "fail", derived,
           source: (nearerLow ? low : high).source ?? null };
}

function frameItems(lengths, opening, limits) {
  const items = [];
  const derived = { twist: difference(lengths.strike_plumb_face, lengths.hinge_plumb_face) };
  if (opening) derived.squareness = headOutOfSquare(lengths, opening);
  for (const [name, limit] of [
    ["squareness", limits.squareness],
    ["alignment", limits.alignment],
    ["twist", limits.twist],
    ["hinge_plumb_side", limits.plumb],
    ["strike_plumb_side", limits.plumb],
    ["hinge_plumb_face", limits.plumb],
    ["strike_plumb_face", limits.plumb],
  ]) {
    const value = lengths[name] ?? derived[name];
    if (value === undefined) continue;
    items.push(item(name, value, -limit.limit_nm, limit.limit_nm, limit, limit, !(name in lengths)));
  }
  if (!opening) return items;
  const least = opening.width - limits.width_under.limit_nm;
  const most = opening.width + limits.width_over.limit_nm;
  for (const name of ["width_head", "width_mid", "width_floor"]) {
    if (name in lengths) items.push(item(name, lengths[name], least, most, limits.width_under, limits.width_over));
  }
  return items;
}

function doorItems(lengths, limits) {
  const items = [];
  for (const [name, value] of Object.entries(lengths)) {
    if (name === "clear_width") {
      const least = limits.clear_width;
      items.push(item(name, value, least.limit_nm, Math.max(value, least.limit_nm), least, least));
    } else if (name.startsWith("gap_")) {
      const high = { gap_floor: limits.gap_bottom_most, gap_meeting: limits.gap_meeting_most }[name] ?? limits.gap_most;
      const low = name === "gap_floor" ? undefined : limits.gap_least;
      items.push(item(name, value, low?.limit_nm ?? 0, high.limit_nm, low ?? high, high));
    }
  }
  return items;
}

// The head's rise plus what the hinge jamb's lean over the height carries over the width, to the nanometre.
function headOutOfSquare(lengths, opening) {
  if (lengths.head_level === undefined || lengths.hinge_plumb_side === undefined) return undefined;
  const carried = roundedQuotient(BigInt(lengths.hinge_plumb_side) * BigInt(opening.width), BigInt(opening.height));
  return lengths.head_level + Number(carried);
}

function difference(one, other) {
  return one === undefined || other === undefined ? undefined : one - other;
}
