// Readings that bind each other, reconciled by least squares, as the server does it. Four unknowns carry the plane of
// the wall (width at the floor, side lean of each jamb, rise of the strike end of the head), two carry what is across
// it (face lean of each jamb). Where more is read than is unknown the surplus must agree. r is what a reading keeps
// outside the space the readings span, h how much of it its own value decides: r/(1 - h) is how far it lies from what
// the others say, r/sqrt(1 - h) how well blaming it alone explains the disagreement.

import { NM_PER_INCH } from "./lengths.js";

const NOTHING = 1e-9;
const AS_GOOD = 1e-6;

/**
 * The readings that disagree with the rest by more than `limit`, the most suspect first.
 * @param {Record<string, number>} lengths nanometres by measure
 * @param {{width: number, height: number}} opening nanometres
 * @param {number} limit nanometres
 * @returns {{reading: string, read: number, othersSay: number, offBy: number, oneOf: string[]}[]}
 */
export function findContradictions(lengths, opening, limit) {
  const found = [];
  for (const rows of [wallPlaneRows(lengths, opening), acrossRows(lengths)]) {
    let left = rows;
    while (left.length > 1) {
      const worst = worstOf(left, lengths, limit);
      if (!worst) break;
      found.push(worst);
      left = left.filter((row) => row.name !== worst.reading);
    }
  }
  return found.sort((one, other) => Math.abs(other.offBy) - Math.abs(one.offBy));
}

function wallPlaneRows(lengths, opening) {
  const base = lengths.width_floor || lengths.width_head || opening.width;
  const width = base / NM_PER_INCH;
  const height = opening.height / NM_PER_INCH;
  const diagonal = Math.hypot(width, height);
  const across = width / diagonal;
  const up = height / diagonal;
  return taken(lengths, [
    ["width_head", [1, -1, 1, 0], width],
    ["width_floor", [1, 0, 0, 0], width],
    ["diagonal_hinge_foot", [across, 0, across, up], diagonal],
    ["diagonal_strike_foot", [across, -across, 0, -up], diagonal],
    ["squareness", [0, width / height, 0, 1], 0],
    ["head_level", [0, 0, 0, 1], 0],
    ["hinge_plumb_side", [0, 1, 0, 0], 0],
    ["strike_plumb_side", [0, 0, 1, 0], 0],
  ]);
}

function acrossRows(lengths) {
  return taken(lengths, [
    ["twist", [-1, 1], 0],
    ["hinge_plumb_face", [1, 0], 0],
    ["strike_plumb_face", [0, 1], 0],
  ]);
}

function taken(lengths, table) {
  return table
    .filter(([name]) => name in lengths)
    .map(([name, coefficients, base]) => ({ name, coefficients, off: lengths[name] / NM_PER_INCH - base }));
}

// Projects the readings on the space their columns span, by Gram-Schmidt; dependent columns drop out.
function fit(rows) {
  let residual = rows.map((row) => row.off);
  let share = rows.map(() => 0);
  const basis = [];
  for (let index = 0; index < rows[0].coefficients.length; index += 1) {
    let column = rows.map((row) => row.coefficients[index]);
    // Twice is enough: a second pass removes what rounding left of the first.
    for (const direction of [...basis, ...basis]) column = less(column, direction, dot(direction, column));
    const size = Math.sqrt(dot(column, column));
    if (size > NOTHING) basis.push(column.map((value) => value / size));
  }
  for (const direction of basis) {
    residual = less(residual, direction, dot(direction, residual));
    share = share.map((held, at) => held + direction[at] * direction[at]);
  }
  return { residual, share };
}

function worstOf(rows, lengths, limit) {
  const { residual, share } = fit(rows);
  const blamed = [];
  rows.forEach((row, at) => {
    const free = 1 - share[at];
    if (free > NOTHING) {
      blamed.push({ name: row.name, explains: Math.abs(residual[at]) / Math.sqrt(free), offBy: residual[at] / free });
    }
  });
  if (!blamed.length) return null;
  const best = Math.max(...blamed.map((each) => each.explains));
  const suspects = blamed.filter((each) => each.explains >= best * (1 - AS_GOOD));
  const micro = (each) => Math.round(Math.abs(each.offBy) * 1e6);
  const suspect = suspects.reduce((least, each) => (micro(each) < micro(least) ? each : least));
  const offBy = Math.round(suspect.offBy * NM_PER_INCH);
  // A reading off by exactly the limit still agrees; two nanometres are what binary fractions may add.
  if (Math.abs(offBy) <= limit + 2) return null;
  const read = lengths[suspect.name];
  return { reading: suspect.name, read, othersSay: read - offBy, offBy, oneOf: suspects.map((each) => each.name) };
}

function less(column, direction, along) {
  return column.map((value, at) => value - along * direction[at]);
}

function dot(one, other) {
  return one.reduce((total, value, at) => total + value * other[at], 0);
}
