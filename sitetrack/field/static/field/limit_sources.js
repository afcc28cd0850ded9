// Where each limit of a check comes from, folded away under its readings: nobody has to take a verdict on trust.

import { h } from "./dom.js";
import { formatLength } from "./lengths.js";

// The limits of the profile that judge a measure, each with the sign that says which way it holds.
const OF_MEASURE = {
  squareness: { squareness: "±" },
  alignment: { alignment: "±" },
  twist: { twist: "±" },
  clear_width: { clear_width: "≥" },
  gap_floor: { gap_bottom_most: "≤" },
  gap_meeting: { gap_least: "≥", gap_meeting_most: "≤" },
};
const OF_KIND = [
  [/_plumb_(side|face)$/u, { plumb: "±" }],
  [/^width_/u, { width_under: "−", width_over: "+" }],
  [/^gap_/u, { gap_least: "≥", gap_most: "≤" }],
];

/**
 * The lines of a list: each limit once, with the measures it judges, its source, edition and how that was come by.
 * @param {string[]} names measures
 * @param {object} profile limits {name: {limit_nm, source}}, units
 * @param {object} t words
 */
export function limitLines(names, profile, t) {
  const lines = new Map();
  for (const name of names) {
    for (const [limit, sign] of Object.entries(limitsOf(name))) {
      const given = profile.limits[limit];
      if (!given?.source) continue;
      const said = `${sign} ${formatLength(given.limit_nm, profile.units, { denominator: 64 })}`;
      const key = `${said}: ${cited(given.source, t)}`;
      lines.set(key, [...(lines.get(key) ?? []), t(`m_${name}`)]);
    }
  }
  return [...lines].map(([said, measures]) => h("li", {}, h("b", {}, measures.join(", ")), " ", said));
}

function limitsOf(name) {
  return OF_MEASURE[name] ?? OF_KIND.find(([form]) => form.test(name))?.[1] ?? {};
}

function cited({ name, edition, mark }, t) {
  const how = t.has(`mark_${mark}`) ? t(`mark_${mark}`) : mark;
  return `${[name, edition].filter(Boolean).join(", ")}; ${how}`;
}
