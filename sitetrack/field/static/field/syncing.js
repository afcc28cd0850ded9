// When to send and to pull: on opening, on coming back to the page, when the phone finds a network, after each report
// and by the button. A phone cannot be trusted to run anything while the page is closed, so nothing relies on it.
//
// One tab at a time does it (Web Locks); where a browser has no locks two tabs may send the same report, which the
// server takes once. After trouble the phone waits longer each time, by chance within bounds so that forty phones
// leaving the stairwell together don't knock at once; and never less than the server asked for.

import { pullAll } from "./pulling.js";
import { nextDue } from "./queue.js";
import { sendPhotos, sendWaiting } from "./sending.js";
import { alone, getSetting, putSetting } from "./store.js";

const FIRST_WAIT_MS = 2_000;
const LONGEST_WAIT_MS = 5 * 60_000;
const LONGEST_TOLD_MS = 3_600_000;
const PULL_AGAIN_MS = 60_000;
const NO_WAIT = { until: 0, failures: 0, byServer: false };
// Trying again changes nothing here until the person does something.
const FOR_THE_PERSON = new Set(["enrol", "update", "forbidden", "refused"]);

/** How long to wait after so many failures: at least half of a time that doubles, the rest by chance from 0 to 1. */
export function backOff(failures, chance) {
  const whole = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.min(failures, 20));
  return whole / 2 + (whole / 2) * chance;
}

/** When to try again after trouble; `told` is what the server asked for, in ms, or null. */
export function tryAgainAt(now, failures, told, chance) {
  if (told === null) return { until: now + backOff(failures, chance), byServer: false };
  const asked = Math.min(told, LONGEST_TOLD_MS);
  return { until: now + asked + (asked * 0.2 + FIRST_WAIT_MS) * chance, byServer: true };
}

/** The engine of one page. Its `state` says {busy, how, until, pulled, problem}; how: see `meaning` in api.js. */
export class Syncing {
  state = { busy: false, how: "ok", until: 0, pulled: 0, problem: null };
  #phone;
  #tell;
  #again = null;
  #timer = 0;

  /**
   * @param {object} phone db, api, clock, enrolment (null until enrolled), codes
   * @param {(state: object) => void} tell told of every change of the state
   */
  constructor(phone, tell) {
    this.#phone = phone;
    this.#tell = tell;
  }

  /** Starts listening for the moments at which it is worth trying. */
  start() {
    // Everyone in the stairwell finds the network in the same second.
    addEventListener("online", () => this.#plan(this.#phone.clock() + Math.random() * FIRST_WAIT_MS));
    addEventListener("focus", () => this.now());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.now());
    return this.now();
  }

  /** Tries now, unless the server asked to wait; `pressed` also pulls, and tries where the phone says it has no net. */
  async now({ pressed = false } = {}) {
    if (!this.#phone.enrolment) return;
    if (this.state.busy) {
      this.#again = { pressed: pressed || Boolean(this.#again?.pressed) };
      return;
    }
    this.#say({ busy: true });
    try {
      await alone(() => this.#once(pressed));
    } finally {
      this.#say({ busy: false });
      const again = this.#again;
      this.#again = null;
      if (again) await this.now(again);
    }
  }

  async #once(pressed) {
    const wait = (await getSetting(this.#phone.db, "wait")) ?? NO_WAIT;
    const left = wait.until - this.#phone.clock();
    // Further off than the server can have asked for: this phone's clock has been put back meanwhile.
    if (wait.byServer && left > 0 && left < LONGEST_TOLD_MS * 2) {
      this.#say({ how: "wait", until: wait.until });
      this.#plan(wait.until);
      return;
    }
    await this.#note(await this.#sendAndPull(pressed), wait);
  }

  async #sendAndPull(pressed) {
    const phone = this.#phone;
    // A phone that knows it has no network puts nothing on its way, so that everything can still be undone. It may be
    // wrong about it, so the button tries all the same.
    if (!pressed && navigator.onLine === false) return { how: "no_signal" };
    const sent = await sendWaiting(phone);
    if (sent.how !== "ok") return sent;
    if (pressed || sent.sent || (await this.#pullIsDue())) {
      const pulled = await pullAll(phone, (count) => this.#say({ pulled: count }));
      if (pulled.how !== "ok") return pulled;
    }
    return sendPhotos(phone);
  }

  async #pullIsDue() {
    const last = (await getSetting(this.#phone.db, "pull"))?.whole ?? 0;
    return Math.abs(this.#phone.clock() - last) > PULL_AGAIN_MS;
  }

  async #note({ how, answer }, wait) {
    const { db, clock } = this.#phone;
    clearTimeout(this.#timer);
    if (how === "ok") {
      await putSetting(db, "wait", NO_WAIT);
      await putSetting(db, "last_contact", clock());
      const due = await nextDue(db, clock());
      if (due !== null) this.#plan(due);
      this.#say({ how, until: 0, pulled: 0, problem: null });
      return;
    }
    const next = tryAgainAt(clock(), wait.failures, answer?.retryAfterMs ?? null, Math.random());
    await putSetting(db, "wait", { ...next, failures: wait.failures + 1 });
    this.#say({ how, until: next.until, pulled: 0, problem: answer?.data ?? null });
    if (!FOR_THE_PERSON.has(how)) this.#plan(next.until);
  }

  #plan(until) {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.now(), Math.max(0, until - this.#phone.clock()));
  }

  #say(changes) {
    Object.assign(this.state, changes);
    this.#tell({ ...this.state });
  }
}
