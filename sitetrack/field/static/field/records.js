// What the server sent, kept page by page: each page and the cursor behind it in one transaction, so that a first load
// broken off goes on where it stopped. After a reset the old records stay until the last new page is in.

import { asked, inTransaction } from "./store.js";

/**
 * Keeps one page of a pull.
 * @param {IDBDatabase} db
 * @param {{cursor: string, more: boolean, reset: boolean, changes: {type: string, id: string, data: ?object}[]}} page
 * @param {number} now
 */
export function keepPage(db, page, now) {
  return inTransaction(db, ["settings", "openings", "records", "queue"], "readwrite", async (stores) => {
    const before = (await asked(stores.settings.get("pull"))) ?? { generation: 1 };
    const generation = before.generation + (page.reset ? 1 : 0);
    for (const change of page.changes) keepChange(stores, change, generation);
    const openings = page.changes.filter((each) => each.type === "opening" && each.data);
    if (openings.length) await settleFresh(stores.queue, new Set(openings.map((each) => key(each.data.number))));
    if (!page.more) {
      await Promise.all([sweep(stores.openings, generation), sweep(stores.records, generation)]);
    }
    const whole = page.more ? (before.whole ?? null) : now;
    stores.settings.put({ cursor: page.cursor, generation, whole, at: now }, "pull");
  });
}

/** The form of an opening number that is compared: capital letters, no spaces around. */
export function key(number) {
  return number.trim().toUpperCase();
}

/** Every record of a type, as the server sent it. */
export async function allOf(db, type) {
  const found = await inTransaction(db, ["records"], "readonly", ({ records }) =>
    asked(records.index("type").getAll(type)),
  );
  return found.map((record) => record.data);
}

/** The opening of that number, or undefined. */
export async function openingOf(db, number) {
  const found = await inTransaction(db, ["openings"], "readonly", ({ openings }) =>
    asked(openings.index("key").get(key(number))),
  );
  return found?.data;
}

/** The openings of these numbers that the phone knows, by the form of the number that is compared. */
export async function openingsOf(db, numbers) {
  const keys = [...new Set(numbers.map(key))];
  const found = await inTransaction(db, ["openings"], "readonly", ({ openings }) =>
    Promise.all(keys.map((each) => asked(openings.index("key").get(each)))),
  );
  return new Map(found.filter(Boolean).map((record) => [record.key, record.data]));
}

/** Numbers that hold the text anywhere, those that begin with it first; at most `most`. */
export function numbersLike(db, text, most = 40) {
  const wanted = key(text);
  return inTransaction(db, ["openings"], "readonly", async ({ openings }) => {
    const first = [];
    const then = [];
    const request = openings.index("key").openKeyCursor();
    await eachOf(request, (cursor) => {
      const at = cursor.key.indexOf(wanted);
      if (at === 0) first.push(cursor.key);
      else if (at > 0 && then.length < most) then.push(cursor.key);
      return first.length < most;
    });
    return [...first, ...then].slice(0, most);
  });
}

/** Openings of a floor on which any of the stages waits for someone; `what` is "do" or "sign". */
export function openingsWithWork(db, floor, wanted) {
  return inTransaction(db, ["openings"], "readonly", async ({ openings }) => {
    const lists = await Promise.all(
      wanted.map(({ stage, what }) => asked(openings.index("work").getAll(workKey(floor, stage, what)))),
    );
    return [...new Map(lists.flat().map((record) => [record.id, record.data])).values()];
  });
}

/** How many openings of each floor wait for any of the stages; counted by stage, so one opening may count twice. */
export function workCounts(db, floors, wanted) {
  return inTransaction(db, ["openings"], "readonly", async ({ openings }) => {
    const index = openings.index("work");
    const counts = await Promise.all(
      floors.map(async (floor) => {
        const each = wanted.map(({ stage, what }) => asked(index.count(workKey(floor, stage, what))));
        return [floor, (await Promise.all(each)).reduce((total, count) => total + count, 0)];
      }),
    );
    return new Map(counts);
  });
}

/** How many openings the phone holds. */
export function countOpenings(db) {
  return inTransaction(db, ["openings"], "readonly", ({ openings }) => asked(openings.count()));
}

function keepChange(stores, { type, id, data }, generation) {
  if (type === "opening") {
    if (data === null) stores.openings.delete(id);
    else stores.openings.put(openingRecord(id, data, generation));
  } else if (data === null) stores.records.delete([type, id]);
  else stores.records.put({ type, id, generation, data: { id, ...data } });
}

function openingRecord(id, data, generation) {
  const work = [];
  for (const [stage, standing] of Object.entries(data.standing ?? {})) {
    // What only waits to be signed can also be read again, but is nobody's next work.
    if (standing.awaits_signature) work.push(workKey(data.floor, stage, "sign"));
    else if (standing.actionable) work.push(workKey(data.floor, stage, "do"));
  }
  return { id, key: key(data.number), floor: data.floor ?? "", work, generation, data: { id, ...data } };
}

function workKey(floor, stage, what) {
  return `${floor} ${stage} ${what}`;
}

// A sent report shows over the server's word until the server's word on that opening has been pulled again.
async function settleFresh(queue, numbers) {
  const fresh = await asked(queue.index("fresh").getAll(1));
  for (const item of fresh) {
    if (!numbers.has(item.key)) continue;
    delete item.fresh;
    queue.put(item);
  }
}

async function sweep(store, generation) {
  const older = IDBKeyRange.upperBound(generation, true);
  await eachOf(store.index("generation").openCursor(older), (cursor) => {
    cursor.delete();
    return true;
  });
}

/** Walks a cursor to its end, or until `visit` says false. */
function eachOf(request, visit) {
  return new Promise((resolve, reject) => {
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const cursor = request.result;
      if (cursor && visit(cursor)) cursor.continue();
      else resolve();
    };
  });
}
