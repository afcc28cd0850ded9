// Reports waiting to be sent, and what became of each. A report is written with its counter, its text, its photos and
// the end of its draft in one transaction: it is there whole or not at all, and two tabs never share a counter.
//
// state: waiting, sent, kept_aside, refused; and undone, mended, put_away by the hand that made it.

import { canonical, wellFormed } from "./canonical.js";
import { uuid7 } from "./ids.js";
import { key } from "./records.js";
import { asked, inTransaction } from "./store.js";

export const WAITING = "waiting";
export const SET_BACK_MOST_MS = 6 * 3_600_000;
const SENT_KEPT = 300; // how many sent reports stay readable on the phone

/**
 * @typedef {object} Report what a hand says of one stage of one opening
 * @property {string} opening its number
 * @property {string} stage
 * @property {"start"|"finish"|"fail"|"sign"|"hold"|"release"|"note"|"void"} action
 * @property {string|null} [about] id of the check-in it signs, releases or takes back
 * @property {Record<string, string>} [readings]
 * @property {Record<string, boolean>} [answers]
 * @property {string} [note]
 * @property {string[]} [photos] SHA-256 of each
 * @property {string} [signer] id of the person who signs on this phone
 */

/**
 * Puts a report in the queue and clears its draft.
 * @param {IDBDatabase} db
 * @param {Report} report
 * @param {{site: string, person: string, now: number, preview?: string, draft?: string}} made
 * @returns {Promise<object>} the queue's record
 */
export function enqueue(db, report, made) {
  return inTransaction(db, ["queue", "settings", "photos", "drafts"], "readwrite", async (stores) => {
    const n = ((await asked(stores.settings.get("counter"))) ?? 0) + 1;
    const id = uuid7(made.now);
    const item = {
      n,
      id,
      text: itemText(id, n, report, made),
      site: made.site,
      person: made.person,
      key: key(report.opening),
      report,
      preview: made.preview ?? null,
      madeAt: made.now,
      state: WAITING,
      tries: 0,
      notBefore: 0,
      problem: null,
      verdict: null,
      fresh: 1,
    };
    stores.settings.put(n, "counter");
    stores.queue.add(item);
    for (const sha of report.photos ?? []) {
      const photo = await asked(stores.photos.get(sha));
      if (photo) stores.photos.put({ ...photo, state: WAITING });
    }
    if (made.draft) stores.drafts.delete(made.draft);
    return item;
  });
}

/** Whether the report can only be taken back by another one: it was on its way at least once and may have arrived. */
export function wasOnItsWay(item) {
  return item.tries > 0 || item.state !== WAITING;
}

/**
 * Undoes a report that was never on its way; false when it has meanwhile been sent and must be taken back instead.
 * Photos of no other report go with it.
 */
export function undo(db, n) {
  return inTransaction(db, ["queue", "photos"], "readwrite", async ({ queue, photos }) => {
    const item = await asked(queue.get(n));
    if (!item || wasOnItsWay(item)) return false;
    delete item.fresh;
    queue.put({ ...item, state: "undone" });
    const waiting = await asked(queue.index("state").getAll(WAITING));
    const needed = new Set(waiting.filter((each) => each.n !== n).flatMap((each) => each.report.photos ?? []));
    for (const sha of item.report.photos ?? []) if (!needed.has(sha)) photos.delete(sha);
    return true;
  });
}

/** Every report on the phone, oldest first. */
export function allItems(db) {
  return inTransaction(db, ["queue"], "readonly", ({ queue }) => asked(queue.getAll()));
}

/** The reports of one opening made on this phone, oldest first. */
export function itemsOf(db, number) {
  return inTransaction(db, ["queue"], "readonly", ({ queue }) => asked(queue.index("opening").getAll(key(number))));
}

/** Reports that the server's word on their openings does not show yet. */
export function freshItems(db) {
  return inTransaction(db, ["queue"], "readonly", ({ queue }) => asked(queue.index("fresh").getAll(1)));
}

/** How many reports wait to be sent. */
export function countWaiting(db) {
  return inTransaction(db, ["queue"], "readonly", ({ queue }) => asked(queue.index("state").count(WAITING)));
}

/** How many reports were refused and still wait for the hand that made them to mend or put them away. */
export function countRefused(db) {
  return inTransaction(db, ["queue"], "readonly", ({ queue }) => asked(queue.index("state").count("refused")));
}

/**
 * Takes the next reports to send and marks them as on their way before anything is on the wire.
 * @param {(item: object) => boolean} mayGo false for what another person made, or what lacks its signer's code
 */
export function takeBatch(db, most, now, mayGo) {
  return inTransaction(db, ["queue"], "readwrite", async ({ queue }) => {
    const waiting = await asked(queue.index("state").getAll(WAITING));
    const batch = waiting.filter((item) => isDue(item, now) && mayGo(item)).slice(0, most);
    for (const item of batch) {
      item.tries += 1;
      queue.put(item);
    }
    return batch;
  });
}

/** Keeps the server's answers: outcome, reason and verdict by item id. Returns how many reports they settled. */
export function settle(db, results, now) {
  return inTransaction(db, ["queue"], "readwrite", async ({ queue }) => {
    let settled = 0;
    for (const result of results) {
      const item = result.id && (await asked(queue.index("id").get(result.id)));
      const state = STATE_OF[result.outcome];
      if (!item || item.state !== WAITING || !state) continue;
      settled += 1;
      if (state !== "sent") delete item.fresh;
      queue.put({ ...item, state, problem: result.problem ?? null, verdict: result.verdict ?? null, settledAt: now });
    }
    await forgetOldest(queue);
    return settled;
  });
}

/** Sets one report back so that it does not hold up those behind it. */
export function setBack(db, n, notBefore, problem) {
  return change(db, n, (item) => ({ ...item, notBefore, problem }));
}

/** Marks a settled report as dealt with by the hand that made it: "mended" or "put_away". */
export function dealtWith(db, n, state) {
  return change(db, n, (item) => (item.state === WAITING ? item : { ...item, state }));
}

/** When the first report that was set back is due again, or null. */
export async function nextDue(db, now) {
  const waiting = await inTransaction(db, ["queue"], "readonly", ({ queue }) =>
    asked(queue.index("state").getAll(WAITING)),
  );
  const later = waiting.filter((item) => !isDue(item, now)).map((item) => item.notBefore);
  return later.length ? Math.min(...later) : null;
}

// A time further off than any setting back can come only from a clock that was wrong and has been put right.
function isDue(item, now) {
  return item.notBefore <= now || item.notBefore > now + SET_BACK_MOST_MS;
}

const STATE_OF = { stored: "sent", known: "sent", kept_aside: "kept_aside", refused: "refused" };

function itemText(id, n, report, made) {
  return canonical({
    id,
    site: made.site,
    opening: report.opening,
    stage: report.stage,
    action: report.action,
    happened_at: new Date(made.now).toISOString(),
    counter: n,
    about: report.about ?? null,
    readings: report.readings ?? {},
    answers: report.answers ?? {},
    note: wellFormed(report.note ?? ""),
    photos: report.photos ?? [],
    signer: report.signer,
  });
}

function change(db, n, how) {
  return inTransaction(db, ["queue"], "readwrite", async ({ queue }) => {
    const item = await asked(queue.get(n));
    if (item) queue.put(how(item));
  });
}

// Refused and kept-aside reports stay until someone deals with them; the rest may go once there are many.
async function forgetOldest(queue) {
  const sent = await asked(queue.index("state").getAllKeys("sent"));
  for (const n of sent.slice(0, Math.max(0, sent.length - SENT_KEPT))) queue.delete(n);
}
