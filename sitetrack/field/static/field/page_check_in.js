// A check-in at one stage: start; or the checklist, and at a check the readings, and then finish.

import { question } from "./asking.js";
import { cautionsFor } from "./cautions.js";
import { fill, h } from "./dom.js";
import { finishDraft, noteForm, openDraft, placeOf } from "./drafting.js";
import { checklistForm, doubtLines } from "./form_checklist.js";
import { photosForm } from "./form_photos.js";
import { ReadingsForm } from "./form_readings.js";
import { knownFacts, nominalSize } from "./opening_facts.js";
import { hint, problem, title, titleAt, wideKey, wideLink } from "./parts.js";
import { openingPlace } from "./places.js";
import { judge, judgeAnswers, worst } from "./trueness.js";

/** @param {object} phone @param {{number: string, stage: string}} params */
export async function checkInPage(phone, { number, stage: code }) {
  const place = await placeOf(phone, number, code);
  const { stage } = place;
  if (!stage) return h("div", {}, title(number), problem(phone.t("unknown_stage")));
  const opened = await openDraft(phone, place.number, code);
  const { draft } = opened;
  const verdict = stage.kind === "check" ? verdictOf(phone, place, draft) : null;
  const ends = endKeys(phone, place, opened, verdict, () => readings?.asksForSide());
  const change = (changes) => {
    opened.change(changes);
    verdict?.show();
    ends.changed();
  };
  const readings = verdict && new ReadingsForm(phone, {
    required: stage.required_readings ?? [],
    readings: draft.readings,
    opening: nominalSize(place.opening),
    judged: verdict.ofReadings,
    onChange: (taken) => change({ readings: taken }),
  });
  return h("div", { class: readings ? "with-dock" : "" },
    heading(phone, place),
    place.opening && knownFacts(place.opening, phone),
    cautionLines(phone, place),
    checklistForm(phone, stage.checklist ?? [], draft.answers, (answers) => change({ answers })),
    readings?.list,
    noteForm(phone, opened),
    photosForm(phone, draft.photos, (photos) => change({ photos })),
    verdict?.line,
    ends.keys,
    readings?.dock);
}

/** Title, way back, and what stands in the way. */
export function heading(phone, { number, line, lines, stage }) {
  const { t } = phone;
  const waits = line.waitsFor.map((code) => lines.find((each) => each.stage.code === code).stage);
  const check = waits.find((each) => each.hold_point);
  const what = waits.map((each) => t.of(each.title)).join("; ");
  return [
    titleAt(number, t.of(stage.title)),
    check && problem("⚠ ", t("past_hold_point", { check: t.of(check.title) })),
    what && h("p", { class: "note" }, t("waits_for", { what })),
  ];
}

// What hurts people here: a word each, the longer line and its source behind it.
function cautionLines(phone, { stage, opening }) {
  const { t } = phone;
  const names = cautionsFor(stage, opening);
  if (!names.length) return null;
  return h("details", { class: "cautions" },
    h("summary", {}, "⚠ ", names.map((name) => t(`caution_${name}`)).join(" · ")),
    h("ul", {}, names.map((name) => h("li", {}, t(`caution_${name}_more`)))),
    hint(t("caution_defer")));
}

// `isHalfRead` tells, and says to the hand, that a reading lacks its side: reported now it would be lost.
function endKeys(phone, place, opened, verdict, isHalfRead) {
  const { t } = phone;
  const { code } = place.stage;
  const send = (action) => {
    if (isHalfRead()) return undefined;
    const { answers, readings, note, photos } = opened.draft;
    const given = action === "start" ? { note, photos } : { answers, readings, note, photos };
    const preview = action === "finish" ? verdict?.now().verdict : undefined;
    return finishDraft(phone, opened, { opening: place.number, stage: code, action, ...given }, preview);
  };
  const doubts = question(t("finish_anyway"), () => send("finish"));
  const finish = wideKey(t("finish_work"), () => {
    // A check says by its verdict what its answers lack; work has no verdict, so it is said here.
    const lines = verdict ? [] : doubtLines(place.stage.checklist ?? [], opened.draft.answers, t);
    return lines.length ? doubts.ask(h("p", {}, t("finish_doubts")), h("ul", {}, lines)) : send("finish");
  }, "key-go");
  verdict?.nameKey(finish);
  const keys = h("div", { class: "actions" },
    place.line.state !== "underway" && wideKey(t("start_work"), () => send("start")),
    finish,
    doubts.box,
    verdict && wideKey(t("fail_check"), () => send("fail"), "key-out"),
    wideLink(t("cannot"), openingPlace(place.number, code, "cannot")));
  return { keys, changed: doubts.drop };
}

// The phone's own verdict: a preview by the limits the server sent; without limits yet it is never a pass.
function verdictOf(phone, { opening, stage }, draft) {
  const required = stage.required_readings ?? [];
  const size = nominalSize(opening);
  const line = h("p", { class: "verdict", role: "status" });
  let key = null;
  const ofReadings = (readings) =>
    phone.profile
      ? judge(readings, size, phone.profile, required)
      : { verdict: "incomplete", items: [], missing: required, contradictions: [], unreadable: {} };
  const now = () => {
    const asked = required.length > 0 || Object.keys(draft.readings).length > 0;
    const read = asked ? ofReadings(draft.readings) : { verdict: "pass", missing: [], contradictions: [] };
    return { ...read, verdict: worst([read.verdict, judgeAnswers(draft.answers, stage.checklist ?? [])]) };
  };
  const show = () => {
    const outcome = now();
    fill(line, verdictWords(outcome, phone.t));
    if (key) key.textContent = phone.t(`finish_check_${outcome.verdict}`);
  };
  show();
  return { line, now, show, ofReadings, nameKey: (named) => { key = named; show(); } };
}

function verdictWords(outcome, t) {
  const mark = { pass: "✓", fail: "✗", incomplete: "…" }[outcome.verdict];
  const look = { pass: "in", fail: "out" }[outcome.verdict];
  return [
    h("b", { class: look }, mark, " ", t(`verdict_${outcome.verdict}`)), " ",
    verdictReason(outcome, t), h("span", { class: "hint" }, " ", t("verdict_preview")),
  ];
}

function verdictReason({ contradictions, missing }, t) {
  if (contradictions.length) return t("verdict_disagree", { measure: t(`m_${contradictions[0].reading}`) });
  if (missing.some((name) => name.startsWith("opening."))) return t("verdict_no_size");
  return missing.length ? t.many("verdict_missing", missing.length) : "";
}
