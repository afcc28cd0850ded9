// One opening: its facts, its ladder of stages, and what stops it.

import { h } from "./dom.js";
import { draftName, draftNames } from "./drafts.js";
import { holdList } from "./holds.js";
import { factRows, sizeText } from "./opening_facts.js";
import { hint, joined, part, problem, title, wideLink } from "./parts.js";
import { floorName, stagesOf, when, whoOf } from "./phone.js";
import { openingPlace } from "./places.js";
import { itemsOf } from "./queue.js";
import { allOf, openingOf } from "./records.js";
import { doesStage, mineToDo, standingOf } from "./standing.js";

const GLYPHS = {
  done: "✓", failed: "✗", outdated: "↻", underway: "◐", ready: "○", held: "▬", waiting: "·", "not needed": "–",
};

/** @param {object} phone @param {{number: string, site?: string}} params */
export async function openingPage(phone, { number, site }) {
  const { t, db } = phone;
  if (site && phone.site && site.toUpperCase() !== phone.site.code.toUpperCase()) {
    return h("div", {}, title(number), problem(t("other_site", { site, mine: phone.site.name })));
  }
  const opening = await openingOf(db, number);
  const items = await itemsOf(db, number);
  const fresh = items.filter((item) => item.fresh);
  const { lines, held } = standingOf(opening ?? null, stagesOf(phone, opening), fresh);
  const at = { phone, number: opening?.number ?? number, lines, drafts: new Set(await draftNames(db)) };
  return h("div", {},
    h("h1", { tabindex: -1, class: "number" }, at.number),
    opening ? hint(whereLine(phone, opening)) : problem(t("unknown_opening")),
    held && problem("▬ ", t("held_text")),
    await holdList(phone, opening, at.number, items),
    await alertList(phone, opening),
    actionKeys(at),
    ladder(at),
    opening && facts(phone, opening),
    h("p", {}, wideLink(t("note_add"), openingPlace(at.number, stageAtHand(phone, lines), "note"))));
}

function whereLine(phone, opening) {
  const size = sizeText(opening, phone.site.units);
  return joined([floorName(phone, opening.floor), size, opening.attributes?.hand]);
}

function facts(phone, opening) {
  return h("details", { class: "part" },
    h("summary", {}, phone.t("facts")), h("dl", { class: "facts" }, factRows(opening, phone)));
}

// The stage a plain note belongs to: what this person does here, else what is being done, else the first.
function stageAtHand(phone, lines) {
  const at = mineToDo(lines, whoOf(phone))[0] ?? lines.find((line) => line.actionable) ?? lines[0];
  return at?.stage.code ?? "";
}

// What is this person's to do here comes first and big; everything else is reached by the ladder.
function actionKeys(at) {
  const { t } = at.phone;
  const mine = mineToDo(at.lines, whoOf(at.phone));
  if (!mine.length) return hint(t("nothing_yours"));
  const keys = mine.map((line) => wideLink(actionWords(at, line), placeOf(at, line), "key-go"));
  return h("div", { class: "actions" }, keys);
}

function actionWords({ phone, number, drafts }, line) {
  const stage = phone.t.of(line.stage.title);
  if (line.awaitsSignature) return phone.t("to_sign", { stage });
  return drafts.has(draftName(number, line.stage.code)) ? phone.t("go_on", { stage }) : stage;
}

function placeOf({ number }, line) {
  return openingPlace(number, line.stage.code, line.awaitsSignature ? "sign" : "");
}

// What is done is folded away, so that what is to do stands where the thumb is.
function ladder(at) {
  const { t } = at.phone;
  const needed = at.lines.filter((line) => line.state !== "not needed");
  const past = needed.filter((line) => line.state === "done" && !line.own);
  const rest = needed.filter((line) => !past.includes(line));
  const rungs = (lines) => h("ol", { class: "ladder" }, lines.map((line) => rung(at, line)));
  const done = past.length > 0 && h("summary", {}, `✓ ${t.many("stages_done", past.length)}`);
  return part(t("ladder"), done && h("details", {}, done, rungs(past)), rungs(rest));
}

function rung(at, line) {
  const { phone, number, drafts } = at;
  const who = whoOf(phone);
  const inside = [
    h("span", { class: "glyph", "aria-hidden": "true" }, GLYPHS[line.state] ?? "·"),
    h("span", { class: "rung-text" },
      h("b", {}, phone.t.of(line.stage.title)),
      h("span", { class: "hint" }, rungDetail(phone, line)),
      line.own && h("span", { class: "own" }, ownWords(phone, line.own)),
      drafts.has(draftName(number, line.stage.code)) && h("span", { class: "own" }, phone.t("draft_here"))),
  ];
  const opens = doesStage(line.stage, who) || who.role === "supervisor" || line.awaitsSignature;
  const link = opens ? { href: placeOf(at, line) } : {};
  return h("li", { class: `rung rung-${line.state.replace(" ", "-")}` },
    h(opens ? "a" : "div", { class: "rung-link", ...link }, inside));
}

function rungDetail(phone, line) {
  const { t } = phone;
  const dated = line.since && ["done", "failed", "underway"].includes(line.state);
  return joined([
    line.awaitsSignature ? t("awaits_signature") : t.stored("state", line.state),
    dated && when(phone, line.since),
    t.stored("trade", line.stage.trade),
    line.stage.hold_point && t("hold_point"),
  ]);
}

function ownWords(phone, item) {
  const words = item.state === "waiting" ? "reported_waiting" : "reported_sent";
  return phone.t(words, { when: when(phone, item.madeAt) });
}

async function alertList(phone, opening) {
  if (!opening) return null;
  const open = (await allOf(phone.db, "alert")).filter((alert) => alert.opening === opening.id && !alert.closed_at);
  const words = (alert) => phone.t.stored("alert", alert.rule.replaceAll("-", "_"));
  return open.length > 0 && h("ul", { class: "alerts" }, open.map((alert) => h("li", {}, "⚠ ", words(alert))));
}
