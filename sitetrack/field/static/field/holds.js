// What holds an opening up, and letting it go on.

import { h } from "./dom.js";
import { hint, wideKey } from "./parts.js";
import { when, whoOf } from "./phone.js";
import { allOf } from "./records.js";
import { makeReport } from "./reporting.js";

/**
 * The open holds of an opening: those the server told of, and those made here that it does not tell of yet.
 * @param {object} phone
 * @param {object|undefined} opening
 * @param {string} number
 * @param {object[]} items reports on it made on this phone
 */
export async function holdList(phone, opening, number, items) {
  const known = (await allOf(phone.db, "hold")).filter((hold) => opening && hold.opening === opening.id);
  const open = openHolds(known, items);
  if (!open.length) return null;
  return h("ul", { class: "holds" }, open.map((hold) =>
    h("li", {},
      h("p", {}, "▬ ", h("span", { class: "hold-reason" }, reasonOf(hold, phone.t)), " ",
        h("span", { class: "hint" }, when(phone, hold.opened_at))),
      release(phone, number, hold))));
}

// What a check found is told in every language the server has; what a hand wrote, as it was written.
function reasonOf(hold, t) {
  return hold.reasons?.[t.language] || hold.reason || t("held_text");
}

function openHolds(known, items) {
  const standing = items.filter((item) => ["waiting", "sent"].includes(item.state));
  const ended = new Set(
    standing.filter(({ report }) => ["release", "void"].includes(report.action)).map(({ report }) => report.about),
  );
  const told = new Set(known.map((hold) => hold.id));
  const here = standing
    .filter((item) => item.report.action === "hold" && item.fresh && !told.has(item.id))
    .map((item) => ({ id: item.id, stage: item.report.stage, reason: item.report.note, opened_at: item.madeAt }));
  return [...known.filter((hold) => !hold.released_at), ...here].filter((hold) => !ended.has(hold.id));
}

function release(phone, number, hold) {
  const { t } = phone;
  if (hold.from_check) return hint(t("hold_from_check"));
  if (whoOf(phone).role === "viewer") return null;
  const report = { opening: number, stage: hold.stage, action: "release", about: hold.id };
  return wideKey(t("hold_release"), () => makeReport(phone, report));
}
