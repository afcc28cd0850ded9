// One opening: its facts, its ladder of stages, and what stops it.

import { button, h } from "./dom.js";
import { draftName, draftNames } from "./drafts.js";
import { factRows, sizeText } from "./opening_facts.js";
import { floorName, stagesOf, when, whoOf } from "./phone.js";
import { itemsOf } from "./queue.js";
import { allOf, openingOf } from "./records.js";
import { makeReport } from "./reporting.js";
import { doesStage, mineToDo, standingOf } from "./standing.js";

const GLYPH = { done: "✓", failed: "✗", outdated: "↻", underway: "◐", ready: "○", held: "▬", waiting: "·", "not needed": "–" };

/** @param {object} phone @param {{number: string, site?: string}} params */
export async function openingPage(phone, { number, site }) {
  const { t, db } = phone;
  if (site && phone.site && site.toUpperCase() !== phone.site.code.toUpperCase()) {
    return h("div", {}, h("h1", { tabindex: -1 }, number), h("p", { class: "problem" }, t("other_site", { site, mine: phone.site.name })));
  }
  const opening = await openingOf(db, number);
  const items = await itemsOf(db, number);
  const { lines, held } = standingOf(opening ?? null, stagesOf(phone, opening), items.filter((item) => item.fresh));
  const drafts = new Set(await draftNames(db));
  const ctx = { phone, number: opening?.number ?? number, lines, drafts };
  return h("div", {},
    h("h1", { tabindex: -1, class: "number" }, opening?.number ?? number),
    opening
      ? h("p", { class: "hint" }, [floorName(phone, opening.floor), sizeText(opening, phone.site.units), opening.attributes?.hand].filter(Boolean).join(" · "))
      : h("p", { class: "problem" }, t("unknown_opening")),
    held && h("p", { class: "problem" }, "▬ ", t("held_text")),
    await holdList(phone, opening, items),
    await alertList(phone, opening),
    actionKeys(ctx),
    ladder(ctx),
    opening && h("details", { class: "part" }, h("summary", {}, t("facts")), h("dl", { class: "facts" }, factRows(opening, phone))),
    h("p", {}, h("a", { class: "key key-wide", href: linkTo(ctx.number, stageAtHand(phone, lines), "note") }, t("note_add"))));
}

function linkTo(number, stage, act = "") {
  return `#/opening/${encodeURIComponent(number)}/${encodeURIComponent(stage)}${act && `/${act}`}`;
}

// The stage a plain note belongs to: what this person does here, else what is being done, else the first.
function stageAtHand(phone, lines) {
  const at = mineToDo(lines, whoOf(phone))[0] ?? lines.find((line) => line.actionable) ?? lines[0];
  return at?.stage.code ?? "";
}

// What is this person's to do here comes first and big; everything else is reached by the ladder.
function actionKeys({ phone, number, lines, drafts }) {
  const { t } = phone;
  const keys = mineToDo(lines, whoOf(phone)).map((line) => {
    const title = t.of(line.stage.title);
    const words = line.awaitsSignature ? t("to_sign", { stage: title }) : drafts.has(draftName(number, line.stage.code)) ? t("go_on", { stage: title }) : title;
    return h("a", { class: "key key-wide key-go", href: linkTo(number, line.stage.code, line.awaitsSignature ? "sign" : "") }, words);
  });
  return keys.length ? h("div", { class: "actions" }, keys) : h("p", { class: "hint" }, t("nothing_yours"));
}

// What is done is folded away, so that what is to do stands where the thumb is.
function ladder(ctx) {
  const { t } = ctx.phone;
  const needed = ctx.lines.filter((line) => line.state !== "not needed");
  const past = needed.filter((line) => line.state === "done" && !line.own);
  const rest = needed.filter((line) => !past.includes(line));
  const rungs = (lines) => h("ol", { class: "ladder" }, lines.map((line) => rung(ctx, line)));
  return h("section", { class: "part" }, h("h2", {}, t("ladder")),
    past.length > 0 && h("details", {}, h("summary", {}, `✓ ${t.many("stages_done", past.length)}`), rungs(past)),
    rungs(rest));
}

function rung({ phone, number, drafts }, line) {
  const { t } = phone;
  const who = whoOf(phone);
  const detail = [
    line.awaitsSignature ? t("awaits_signature") : t.stored("state", line.state),
    line.since && ["done", "failed", "underway"].includes(line.state) ? when(phone, line.since) : "",
    t.stored("trade", line.stage.trade),
    line.stage.hold_point ? t("hold_point") : "",
  ].filter(Boolean).join(" · ");
  const own = line.own && t(line.own.state === "waiting" ? "reported_waiting" : "reported_sent", { when: when(phone, line.own.madeAt) });
  const inside = [
    h("span", { class: "glyph", "aria-hidden": "true" }, GLYPH[line.state] ?? "·"),
    h("span", { class: "rung-text" }, h("b", {}, t.of(line.stage.title)), h("span", { class: "hint" }, detail),
      own && h("span", { class: "own" }, own),
      drafts.has(draftName(number, line.stage.code)) && h("span", { class: "own" }, t("draft_here"))),
  ];
  const mayReport = doesStage(line.stage, who) || who.role === "supervisor";
  const place = linkTo(number, line.stage.code, line.awaitsSignature ? "sign" : "");
  return h("li", { class: `rung rung-${line.state.replace(" ", "-")}` },
    mayReport || line.awaitsSignature ? h("a", { href: place, class: "rung-link" }, inside) : h("div", { class: "rung-link" }, inside));
}

async function holdList(phone, opening, items) {
  const { t } = phone;
  const released = new Set(items.filter((item) => item.report.action === "release" && item.state !== "refused").map((item) => item.report.about));
  const undone = new Set(items.filter((item) => item.report.action === "void").map((item) => item.report.about));
  const known = opening ? (await allOf(phone.db, "hold")).filter((hold) => hold.opening === opening.id && !hold.released_at) : [];
  const here = items.filter((item) => item.report.action === "hold" && item.fresh && ["waiting", "sent"].includes(item.state))
    .filter((item) => !known.some((hold) => hold.id === item.id))
    .map((item) => ({ id: item.id, stage: item.report.stage, reason: item.report.note, opened_at: item.madeAt }));
  const open = [...known, ...here].filter((hold) => !released.has(hold.id) && !undone.has(hold.id));
  if (!open.length) return null;
  return h("ul", { class: "holds" }, open.map((hold) =>
    h("li", {}, h("p", {}, "▬ ", hold.reason || t("held_text"), " ", h("span", { class: "hint" }, when(phone, hold.opened_at))),
      hold.from_check
        ? h("p", { class: "hint" }, t("hold_from_check"))
        : whoOf(phone).role !== "viewer" && button(t("hold_release"), () => release(phone, opening?.number ?? items[0].report.opening, hold), { class: "key key-wide" }))));
}

function release(phone, number, hold) {
  return makeReport(phone, { opening: number, stage: hold.stage, action: "release", about: hold.id });
}

async function alertList(phone, opening) {
  if (!opening) return null;
  const open = (await allOf(phone.db, "alert")).filter((alert) => alert.opening === opening.id && !alert.closed_at);
  if (!open.length) return null;
  return h("ul", { class: "alerts" }, open.map((alert) => h("li", {}, "⚠ ", phone.t.stored("alert", alert.rule.replaceAll("-", "_")))));
}
