// What the pages that make a report share: the place it is about, its draft, and its end.

import { draftKeeper, draftName, loadDraft } from "./drafts.js";
import { h } from "./dom.js";
import { stagesOf } from "./phone.js";
import { openingPlace } from "./places.js";
import { itemsOf } from "./queue.js";
import { openingOf } from "./records.js";
import { makeReport } from "./reporting.js";
import { standingOf } from "./standing.js";
import { isNoRoom, putSetting } from "./store.js";

const EMPTY = { answers: {}, readings: {}, note: "", photos: [] };
const MOST_NOTE = 4000;

/** Everything a page needs to know of an opening and one of its stages. */
export async function placeOf(phone, number, code) {
  const opening = await openingOf(phone.db, number);
  const fresh = (await itemsOf(phone.db, number)).filter((item) => item.fresh);
  const { lines } = standingOf(opening ?? null, stagesOf(phone, opening), fresh);
  const line = lines.find((each) => each.stage.code === code);
  return { number: opening?.number ?? number, opening, lines, line, stage: line?.stage };
}

/** The draft of a report at a stage, kept at every change; `act` tells a hold's or a note's from the stage's own. */
export async function openDraft(phone, number, stage, act = "") {
  const name = draftName(number, act ? `${stage} ${act}` : stage);
  const draft = { ...structuredClone(EMPTY), ...(await loadDraft(phone.db, name)) };
  const keeper = draftKeeper(phone.db, name, (error) => sayNotKept(phone, error));
  return {
    draft,
    name,
    change(changes) {
      Object.assign(draft, changes);
      keeper.keep(draft);
    },
    close: () => keeper.close(),
  };
}

/** Puts what a report says back into a draft, to be mended there. */
export async function draftAgain(phone, number, report, act) {
  const { answers, readings, note, photos } = { ...EMPTY, ...report };
  const opened = await openDraft(phone, number, report.stage, act);
  opened.change({ answers, readings, note, photos, ...(act === "cannot" && { reason: "other" }) });
  await opened.close();
}

/** Ends a draft with its report and goes back to the opening; what could not be kept stays as it is on the page. */
export async function finishDraft(phone, opened, report, preview = undefined) {
  await opened.close();
  await putSetting(phone.db, "last_opening", report.opening);
  if (await makeReport(phone, report, { preview, draft: opened.name })) phone.go(openingPlace(report.opening));
  else phone.redraw();
}

/** The field for a note. */
export function noteForm(phone, opened) {
  const change = () => opened.change({ note: field.value });
  const field = h("textarea", { id: "note", class: "field", rows: 2, maxlength: MOST_NOTE, on: { input: change } });
  field.value = opened.draft.note;
  return h("section", { class: "part" }, h("label", { for: "note", class: "part-title" }, phone.t("note")), field);
}

function sayNotKept(phone, error) {
  phone.say(phone.t(isNoRoom(error) ? "no_room" : "not_kept", { why: String(error?.message ?? error) }), true);
}
