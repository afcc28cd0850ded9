// Sends what waits, oldest first, so that nothing is lost, nothing waits behind one bad report, and a lost answer does
// no harm: a report sent again is the same bytes under the same id, which the server knows again.
//
// A batch that the server stumbles over is halved until the report at fault stands alone; that one is set back and the
// rest go on. Several in a row that fail alone mean that the server itself is in trouble.

import { meaning, problemOf } from "./api.js";
import { canonical } from "./canonical.js";
import { dropPhoto, getPhoto, refusePhoto, waitingPhotos } from "./photos.js";
import { SET_BACK_MOST_MS, setBack, settle, takeBatch } from "./queue.js";

const MOST_AT_ONCE = 100;
const STUMBLES_BEFORE_OUTAGE = 3;
const SET_BACK_MS = 60_000;

/**
 * Sends until nothing is left that may go.
 * @param {object} phone db, api, clock() in ms, enrolment {site, person}, codes (Map of item id to signing code)
 * @returns {Promise<{how: string, sent: number, answer?: object}>} how: see `meaning`; sent: reports settled
 */
export async function sendWaiting(phone) {
  let most = MOST_AT_ONCE;
  let stumbles = 0;
  let sent = 0;
  for (;;) {
    const batch = await takeBatch(phone.db, most, phone.clock(), (item) => mayGo(item, phone));
    if (!batch.length) return { how: "ok", sent };
    const answer = await phone.api.push(batchText(batch, phone));
    const how = meaning(answer);
    if (how !== "ok" && how !== "refused" && how !== "stumbled") return { how, sent, answer };
    const settled = await settle(phone.db, resultsOf(how, batch, answer), phone.clock());
    sent += settled;
    if (how === "ok") forgetCodes(batch, answer, phone);
    if (settled) [most, stumbles] = [Math.min(MOST_AT_ONCE, most * 2), 0];
    else if (batch.length > 1) most = Math.ceil(batch.length / 2);
    else {
      await setBackAlone(batch[0], answer, phone);
      stumbles += 1;
      if (stumbles >= STUMBLES_BEFORE_OUTAGE) return { how: "away", sent, answer };
    }
  }
}

/** Sends photos whose reports have gone; stops at the first sign that the server can't be reached. */
export async function sendPhotos(phone) {
  for (const sha of await waitingPhotos(phone.db)) {
    const photo = await getPhoto(phone.db, sha);
    if (!photo) continue;
    const answer = await phone.api.photo(sha, photo.bytes, photo.type);
    const how = meaning(answer);
    if (how === "ok") await dropPhoto(phone.db, sha);
    else if (how === "refused") await refusePhoto(phone.db, sha, problemOf(answer));
    else return { how, answer };
  }
  return { how: "ok" };
}

/** Whether a report may be sent from this phone as it is enrolled now, with what it knows now. */
export function mayGo(item, { enrolment, codes }) {
  return whyNot(item, { enrolment, codes }) === null;
}

/** Why a waiting report stays: "another_site", "another_person", "needs_code", or null. */
export function whyNot(item, { enrolment, codes }) {
  if (!enrolment || item.site !== enrolment.site) return "another_site";
  if (item.person !== enrolment.person) return "another_person";
  if (item.report.signer && !codes.has(item.id)) return "needs_code";
  return null;
}

function batchText(batch, { clock, codes }) {
  const items = batch.map((item) => {
    const code = item.report.signer && codes.get(item.id);
    // The signer's code is put in only here, on its way out; it is never in what the phone keeps.
    return code ? canonical({ ...JSON.parse(item.text), signing_code: code }) : item.text;
  });
  return `{"check_ins":[${items.join(",")}],"device_time":"${new Date(clock()).toISOString()}"}`;
}

// A refusal of the whole tells which report it is about only when that report stands alone.
function resultsOf(how, batch, answer) {
  if (how === "ok") return resultList(answer);
  return how === "refused" && batch.length === 1
    ? [{ id: batch[0].id, outcome: "refused", problem: problemOf(answer) }]
    : [];
}

function resultList({ data }) {
  const results = Array.isArray(data) ? data : data?.results;
  return Array.isArray(results) ? results : [];
}

function forgetCodes(batch, answer, { codes }) {
  const settled = new Set(resultList(answer).map((result) => result.id));
  for (const item of batch) if (settled.has(item.id)) codes.delete(item.id);
}

// Later each time, so that one report the server can't digest costs less and less.
function setBackAlone(item, answer, { db, clock }) {
  const later = Math.min(SET_BACK_MOST_MS, SET_BACK_MS * 2 ** Math.min(item.tries - 1, 10));
  return setBack(db, item.n, clock() + later, problemOf(answer));
}
