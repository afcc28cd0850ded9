// A check-in at one stage: start, or the checklist and readings and then finish; or cannot, or a note.

import { cautionsFor } from "./cautions.js";
import { button, fill, h } from "./dom.js";
import { draftKeeper, draftName, loadDraft } from "./drafts.js";
import { checklistForm } from "./form_checklist.js";
import { photosForm } from "./form_photos.js";
import { readingsForm } from "./form_readings.js";
import { nominalSize } from "./opening_facts.js";
import { stagesOf } from "./phone.js";
import { itemsOf } from "./queue.js";
import { openingOf } from "./records.js";
import { makeReport } from "./reporting.js";
import { standingOf } from "./standing.js";
import { putSetting, isNoRoom } from "./store.js";
import { judge, judgeAnswers, worst } from "./trueness.js";

export const EMPTY = { answers: {}, readings: {}, note: "", photos: [] };
const MOST_NOTE = 4000;

/** Everything a check-in page needs to know of an opening and one of its stages. */
export async function placeOf(phone, number, code) {
  const opening = await openingOf(phone.db, number);
  const items = (await itemsOf(phone.db, number)).filter((item) => item.fresh);
  const { lines } = standingOf(opening ?? null, stagesOf(phone, opening), items);
  const line = lines.find((each) => each.stage.code === code);
  return { number: opening?.number ?? number, opening, lines, line, stage: line?.stage };
}

/** A draft that is kept at every change, under a name of its own. */
export async function openDraft(phone, name) {
  const draft = { ...structuredClone(EMPTY), ...(await loadDraft(phone.db, name)) };
  const keeper = draftKeeper(phone.db, name, (error) => phone.say(phone.t(isNoRoom(error) ? "no_room" : "not_kept", { why: String(error) }), true));
  return {
    draft,
    name,
    change(part) {
      Object.assign(draft, part);
      keeper.keep(draft);
    },
    close: () => keeper.close(),
  };
}

/** @param {object} phone @param {{number: string, stage: string}} params */
export async function checkInPage(phone, { number, stage: code }) {
  const { t } = phone;
  const place = await placeOf(phone, number, code);
  const { stage } = place;
  if (!stage) return h("div", {}, h("h1", { tabindex: -1 }, number), h("p", { class: "problem" }, t("unknown_stage")));
  const opened = await openDraft(phone, draftName(place.number, code));
  const judged = judging(phone, place);
  const verdict = h("p", { class: "verdict", role: "status" });
  const sendKey = button("", () => finish(), { class: "key key-wide key-go" });
  const isCheck = stage.kind === "check";

  function change(part) {
    opened.change(part);
    if (isCheck) showVerdict();
  }

  function showVerdict() {
    const outcome = judged.whole(opened.draft);
    fill(verdict, verdictLine(outcome, t));
    fill(sendKey, t(`finish_check_${outcome.verdict}`));
  }

  async function send(action) {
    const { answers, readings, note, photos } = opened.draft;
    await opened.close();
    const given = action === "start" ? { note, photos } : { answers, readings, note, photos };
    const preview = isCheck && action === "finish" ? judged.whole(opened.draft).verdict : undefined;
    await putSetting(phone.db, "last_opening", place.number);
    const kept = await makeReport(phone, { opening: place.number, stage: code, action, ...given }, { preview, draft: opened.name });
    if (kept) phone.go(`#/opening/${encodeURIComponent(place.number)}`);
    else phone.redraw();
  }

  const finish = () => send("finish");
  const readings = readingsPart(phone, place, opened, judged, change);
  if (isCheck) showVerdict();
  else fill(sendKey, t("finish_work"));
  return h("div", { class: readings ? "with-dock" : "" },
    heading(phone, place),
    cautionLines(phone, stage),
    checklistForm(phone, stage.checklist ?? [], opened.draft.answers, (answers) => change({ answers })),
    readings?.part,
    noteForm(phone, opened.draft.note, (note) => change({ note })),
    photosForm(phone, opened.draft.photos, (photos) => change({ photos })),
    isCheck && verdict,
    h("div", { class: "actions" },
      place.line.state !== "underway" && button(t("start_work"), () => send("start"), { class: "key key-wide" }),
      sendKey,
      isCheck && button(t("fail_check"), () => send("fail"), { class: "key key-wide key-out" }),
      h("a", { class: "key key-wide", href: `#/opening/${encodeURIComponent(place.number)}/${encodeURIComponent(code)}/cannot` }, t("cannot"))),
    readings?.dock);
}

/** Title, way back, and what stands in the way. */
export function heading(phone, { number, line, lines, stage }) {
  const { t } = phone;
  const waits = line.waitsFor.map((code) => lines.find((each) => each.stage.code === code));
  const checks = waits.filter((each) => each.stage.hold_point);
  return [
    h("h1", { tabindex: -1 }, h("a", { class: "number back", href: `#/opening/${encodeURIComponent(number)}` }, "‹ ", number), " ", t.of(stage.title)),
    checks.length > 0 && h("p", { class: "problem" }, "⚠ ", t("past_hold_point", { check: t.of(checks[0].stage.title) })),
    waits.length > 0 && h("p", { class: "note" }, t("waits_for", { what: waits.map((each) => t.of(each.stage.title)).join("; ") })),
  ];
}

/** What hurts people here: one short line each, its source behind it. */
export function cautionLines(phone, stage) {
  const { t } = phone;
  const names = cautionsFor(stage);
  if (!names.length) return null;
  return h("details", { class: "cautions" },
    h("summary", {}, "⚠ ", names.map((name) => t(`caution_${name}`)).join(" · ")),
    h("ul", {}, names.map((name) => h("li", {}, t(`caution_${name}_more`)))),
    h("p", { class: "hint" }, t("caution_defer")));
}

export function noteForm(phone, note, onChange, label = "note") {
  const field = h("textarea", { id: "note", class: "field", rows: 2, maxlength: MOST_NOTE, on: { input: () => onChange(field.value) } });
  field.value = note;
  return h("section", { class: "part" }, h("label", { for: "note", class: "part-title" }, phone.t(label)), field);
}

// The phone's own verdict: a preview with the limits the server sent; without limits yet it is silent.
function judging(phone, { opening, stage }) {
  const size = nominalSize(opening);
  const silent = { verdict: "incomplete", items: [], missing: stage.required_readings ?? [], contradictions: [], unreadable: {} };
  const read = (readings) => (phone.profile ? judge(readings, size, phone.profile, stage.required_readings ?? []) : silent);
  return {
    read,
    whole(draft) {
      const asked = (stage.required_readings ?? []).length > 0 || Object.keys(draft.readings).length > 0;
      const found = asked ? read(draft.readings) : { ...silent, verdict: "pass", missing: [] };
      return { ...found, verdict: worst([found.verdict, judgeAnswers(draft.answers, stage.checklist ?? [])]) };
    },
  };
}

function readingsPart(phone, { opening, stage }, opened, judged, change) {
  const required = stage.required_readings ?? [];
  if (!required.length && stage.kind !== "check") return null;
  return readingsForm(phone, {
    required,
    readings: opened.draft.readings,
    opening: nominalSize(opening),
    judged: judged.read,
    onChange: (readings) => change({ readings }),
  });
}

function verdictLine(outcome, t) {
  const mark = { pass: "✓", fail: "✗", incomplete: "…" }[outcome.verdict];
  const missing = outcome.missing.filter((name) => !name.startsWith("opening."));
  const words = [t(`verdict_${outcome.verdict}`)];
  if (outcome.contradictions.length) words.push(t("verdict_disagree", { measure: t(`m_${outcome.contradictions[0].reading}`) }));
  else if (outcome.missing.length !== missing.length) words.push(t("verdict_no_size"));
  else if (missing.length) words.push(t.many("verdict_missing", missing.length));
  return [h("b", { class: outcome.verdict === "pass" ? "in" : outcome.verdict === "fail" ? "out" : "" }, mark, " ", words.shift()),
          " ", words.join(" "), h("span", { class: "hint" }, " ", t("verdict_preview"))];
}
