// From what a hand has filled in to a report in the queue, with the words said about it.

import { enqueue, undo, wasOnItsWay } from "./queue.js";
import { getSetting, isNoRoom, putSetting } from "./store.js";

/**
 * Keeps a report and tries to send it. False, with the reason said, when the phone could not keep it; the draft stays.
 * @param {object} phone
 * @param {import("./queue.js").Report} report
 * @param {{preview?: string, draft?: string, code?: string}} more `code`: the signer's, held in memory only
 */
export async function makeReport(phone, report, { preview, draft, code } = {}) {
  const { site, person } = phone.enrolment;
  try {
    const item = await enqueue(phone.db, report, { site, person, now: phone.clock(), preview, draft });
    if (code) phone.codes.set(item.id, code);
  } catch (error) {
    phone.say(phone.t(isNoRoom(error) ? "no_room" : "not_kept", { why: String(error?.message ?? error) }), true);
    return false;
  }
  phone.say(phone.t("kept"));
  // Some browsers ask the person, who may take their time; the work goes on.
  askToPersist(phone.db).catch(() => {});
  phone.changed();
  phone.syncing.now();
  return true;
}

/** Takes a report back: undone if it never left the phone, by a report of its own if it may have arrived. */
export async function takeBack(phone, item) {
  if (!wasOnItsWay(item) && (await undo(phone.db, item.n))) {
    phone.codes.delete(item.id);
    phone.say(phone.t("undone"));
    phone.changed();
    return true;
  }
  return makeReport(phone, { opening: item.report.opening, stage: item.report.stage, action: "void", about: item.id });
}

/** Asks the browser, once there is something to lose, not to throw this page's memory away when it needs room. */
async function askToPersist(db) {
  if (!navigator.storage?.persist || (await getSetting(db, "persisted"))) return;
  await putSetting(db, "persisted", await navigator.storage.persist());
}
