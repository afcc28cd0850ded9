// Half-made reports, kept at every key pressed: they survive a closed tab and a dead battery.

import { asked, inTransaction } from "./store.js";

/** The name a draft is kept under. */
export function draftName(number, stage) {
  return `${number} ${stage}`;
}

/** The number of the opening that a draft of that name is about; a number may hold spaces, a stage's code does not. */
export function numberOfDraft(name) {
  return /^(.*?) [^ ]*( (cannot|note))?$/.exec(name)?.[1] ?? name;
}

/** The draft of that name, or undefined. */
export function loadDraft(db, name) {
  return inTransaction(db, ["drafts"], "readonly", ({ drafts }) => asked(drafts.get(name)));
}

/** The names of every draft. */
export function draftNames(db) {
  return inTransaction(db, ["drafts"], "readonly", ({ drafts }) => asked(drafts.getAllKeys()));
}

/**
 * A keeper that writes the latest form of one draft. Keys come faster than a disk writes, so while one write runs only
 * the newest form waits behind it.
 * @param {(error: unknown) => void} onTrouble told when the phone could not keep it
 */
export function draftKeeper(db, name, onTrouble) {
  let next = null;
  let writing = null;
  let over = false;

  async function write() {
    while (next && !over) {
      const draft = next;
      next = null;
      try {
        await inTransaction(db, ["drafts"], "readwrite", ({ drafts }) => asked(drafts.put(draft, name)));
      } catch (error) {
        onTrouble(error);
      }
    }
    writing = null;
  }

  return {
    /** Keeps this form of the draft. */
    keep(draft) {
      next = structuredClone(draft);
      writing ??= write();
      return writing;
    },
    /** Ends the keeping; resolves when no write is under way, so that a late one can't bring a sent draft back. */
    async close() {
      over = true;
      await writing;
    },
  };
}
