// The measures a frame is read by, as the server names them: sizes are distances and positive, deviations have a side.

import { NM_PER_INCH, BARE_UNIT, parseLengthBetween } from "./lengths.js";

export const SIZE = "size";
export const DEVIATION = "deviation";
const LARGEST_SIZE = 480 * NM_PER_INCH;
const LARGEST_DEVIATION = 24 * NM_PER_INCH;

/** Name to kind, in the order a frame is gone round: widths, plumb, head, then across the wall, then the hung door. */
export const MEASURES = {
  width_head: SIZE,
  width_mid: SIZE,
  width_floor: SIZE,
  diagonal_hinge_foot: SIZE,
  diagonal_strike_foot: SIZE,
  hinge_plumb_side: DEVIATION,
  strike_plumb_side: DEVIATION,
  hinge_plumb_face: DEVIATION,
  strike_plumb_face: DEVIATION,
  head_level: DEVIATION,
  squareness: DEVIATION,
  alignment: DEVIATION,
  twist: DEVIATION,
  foot_gap_hinge: DEVIATION,
  foot_gap_strike: DEVIATION,
  gap_head_hinge: DEVIATION,
  gap_head_strike: DEVIATION,
  gap_hinge: DEVIATION,
  gap_strike_head: DEVIATION,
  gap_strike_mid: DEVIATION,
  gap_strike_floor: DEVIATION,
  gap_meeting: DEVIATION,
  gap_floor: DEVIATION,
  clear_width: SIZE,
};

/** What a size should come to, so that its keys can start there; null where the schedule does not tell. */
export function expectedSize(name, opening) {
  const { width, height } = opening ?? {};
  if (name.startsWith("width_") || name === "clear_width") return width ?? null;
  if (name.startsWith("diagonal_") && width && height) return Math.round(Math.hypot(width, height));
  return null;
}

/** A reading as nanometres; throws LengthError. Measures not known here are the caller's to leave out. */
export function readMeasure(name, text, units) {
  const size = MEASURES[name] === SIZE;
  const [least, most] = size ? [1, LARGEST_SIZE] : [-LARGEST_DEVIATION, LARGEST_DEVIATION];
  return parseLengthBetween(text, least, most, BARE_UNIT[units]);
}
