// Brings what the server knows onto the phone, page by page.

import { meaning } from "./api.js";
import { keepPage } from "./records.js";
import { getSetting } from "./store.js";

const PAGE = 500;

/**
 * Pulls until there is no more; a break in between loses nothing but time.
 * @param {object} phone db, api, clock, enrolment
 * @param {(count: number) => void} onPage told how many changes came so far
 */
export async function pullAll(phone, onPage = () => {}) {
  let count = 0;
  let cursor = (await getSetting(phone.db, "pull"))?.cursor ?? "";
  for (;;) {
    const answer = await phone.api.pull(phone.enrolment.site, cursor, PAGE);
    const how = meaning(answer);
    if (how !== "ok") return { how, answer, count };
    const page = answer.data;
    if (!Array.isArray(page.changes)) return { how: "no_signal", answer, count };
    await keepPage(phone.db, page, phone.clock());
    count += page.changes.length;
    onPage(count);
    // A cursor that stands still while there is more would ask the same for ever.
    if (!page.more || page.cursor === cursor) return { how: "ok", count };
    cursor = page.cursor;
  }
}
