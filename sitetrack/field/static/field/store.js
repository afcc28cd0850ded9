// What the phone keeps, in IndexedDB. Nothing here is ever thrown away by an update of the app: a new version may add
// stores, and never empties `queue`, `photos` or `drafts`.
//
//   settings  one value a name: enrolment, counter, pull cursor, language ...
//   openings  openings as the server sent them, with keys for searching by number and for "my work"
//   records   everything else the server sent: site, floors, plans, tolerance profile, holds, alerts
//   queue     reports, by this phone's counter, each with what became of it
//   photos    pictures by SHA-256, until the server has them
//   drafts    half-made reports, by opening and stage

const NAME = "sitetrack";
const VERSION = 1;

/** A promise of what an IndexedDB request comes to. */
export function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** Opens the store; `onOutdated` is called when a newer page needs this one to let go of it. */
export async function openStore(onOutdated = () => {}) {
  const request = indexedDB.open(NAME, VERSION);
  request.onupgradeneeded = () => build(request.result);
  const db = await asked(request);
  db.onversionchange = () => {
    db.close();
    onOutdated();
  };
  return db;
}

/**
 * Runs `work` in one transaction and resolves, with its result, once the transaction is on the disk: all of it or none.
 * `work` gets the named stores and may await only what it asks of them.
 * @param {IDBDatabase} db
 * @param {string[]} names
 * @param {"readonly"|"readwrite"} mode
 * @param {(stores: Record<string, IDBObjectStore>) => Promise<any>} work
 */
export function inTransaction(db, names, mode, work) {
  return new Promise((resolve, reject) => {
    // Strict: the answer comes after the disk has it, so that a dead battery loses nothing that was confirmed.
    const transaction = db.transaction(names, mode, mode === "readwrite" ? { durability: "strict" } : undefined);
    let result;
    let failure = null;
    transaction.oncomplete = () => resolve(result);
    transaction.onabort = () => reject(failure ?? transaction.error ?? new DOMException("not kept", "AbortError"));
    const stores = Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)]));
    work(stores).then(
      (value) => (result = value),
      (error) => {
        failure = error;
        if (transaction.error === null) abort(transaction);
      },
    );
  });
}

/** One setting, or undefined. */
export function getSetting(db, name) {
  return inTransaction(db, ["settings"], "readonly", ({ settings }) => asked(settings.get(name)));
}

/** Keeps one setting. */
export function putSetting(db, name, value) {
  return inTransaction(db, ["settings"], "readwrite", ({ settings }) => asked(settings.put(value, name)));
}

/** Whether an error means that the phone has no room left. */
export function isNoRoom(error) {
  return error?.name === "QuotaExceededError";
}

/** Empties the phone for another person. The caller makes sure that nothing waits to be sent. */
export function forgetEverything(db) {
  const names = [...db.objectStoreNames];
  return inTransaction(db, names, "readwrite", (stores) =>
    Promise.all(names.map((name) => asked(stores[name].clear()))),
  );
}

function build(db) {
  db.createObjectStore("settings");
  const openings = db.createObjectStore("openings", { keyPath: "id" });
  openings.createIndex("key", "key");
  openings.createIndex("floor", "floor");
  openings.createIndex("work", "work", { multiEntry: true });
  openings.createIndex("generation", "generation");
  const records = db.createObjectStore("records", { keyPath: ["type", "id"] });
  records.createIndex("type", "type");
  records.createIndex("generation", "generation");
  const queue = db.createObjectStore("queue", { keyPath: "n" });
  queue.createIndex("id", "id", { unique: true });
  queue.createIndex("state", "state");
  queue.createIndex("opening", "key");
  queue.createIndex("fresh", "fresh");
  db.createObjectStore("photos", { keyPath: "sha" }).createIndex("state", "state");
  db.createObjectStore("drafts");
}

function abort(transaction) {
  try {
    transaction.abort();
  } catch {
    // It had already ended by itself; onabort or oncomplete says how.
  }
}

const LOCK = "sitetrack sending";

/** Does the work while no tab of this phone sends or pulls, and lets none begin until it is done. */
export function alone(work) {
  return navigator.locks ? navigator.locks.request(LOCK, work) : work();
}
