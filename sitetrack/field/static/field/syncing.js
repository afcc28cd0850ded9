// When to send and to pull: on opening, on coming back to the page, when the phone finds a network, after each report
// and by the button. A phone cannot be trusted to run anything while the page is closed, so nothing relies on it.
//
// One tab at a time does it (Web Locks); where a browser has no locks two tabs may send the same report, which the
// server takes once. After trouble the phone waits longer each time, by chance within bounds so that forty phones
// leaving the stairwell together don't knock at once; and never less than the server asked for.

import { pullAll } from "./pulling.js";
import { nextDue } from "./queue.js";
import { sendPhotos, sendWaiting } from "./sending.js";
import { getSetting, putSetting } from "./store.js";

const LOCK = "sitetrack sending";
const FIRST_WAIT_MS = 2_000;
const LONGEST_WAIT_MS = 5 * 60_000;
const LONGEST_TOLD_MS = 3_600_000;
const PULL_AGAIN_MS = 60_000;

/** How long to wait after so many failures: at least half of a time that doubles, the rest by chance from 0 to 1. */
export function backOff(failures, chance) {
  const whole = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.min(failures, 20));
  return whole / 2 + (whole / 2) * chance;
}

/** When to try again after trouble; `told` is what the server asked for, in ms, or null. */
export function tryAgainAt(now, failures, told, chance) {
  if (told !== null) {
    const asked = Math.min(told, LONGEST_TOLD_MS);
    return { until: now + asked + (asked * 0.2 + FIRST_WAIT_MS) * chance, byServer: true };
  }
  return { until: now + backOff(failures, chance), byServer: false };
}

/**
 * The engine of one page.
 * @param {object} phone db, api, clock, enrolment (null until enrolled), codes
 * @param {(state: object) => void} tell told of every change: {busy, how, until, pulled, problem}
 */
export function makeSyncing(phone, tell) {
  const state = { busy: false, how: "ok", until: 0, pulled: 0, problem: null };
  let again = false;
  let timer = 0;

  function say(changes) {
    Object.assign(state, changes);
    tell({ ...state });
  }

  /** Tries now, unless the server asked to wait; `pressed` also pulls. */
  async function now({ pressed = false } = {}) {
    if (!phone.enrolment) return;
    if (state.busy) {
      again = true;
      return;
    }
    say({ busy: true });
    try {
      await alone(() => once(pressed));
    } finally {
      say({ busy: false });
    }
    if (again) {
      again = false;
      await now();
    }
  }

  async function once(pressed) {
    const wait = (await getSetting(phone.db, "wait")) ?? { until: 0, failures: 0, byServer: false };
    // Further off than the server can have asked for: this phone's clock has been put back meanwhile.
    const left = wait.until - phone.clock();
    if (wait.byServer && left > 0 && left < LONGEST_TOLD_MS * 2) {
      say({ how: "wait", until: wait.until });
      plan(wait.until);
      return;
    }
    // A phone that knows it has no network puts nothing on its way, so that everything can still be undone. It may be
    // wrong about it, so the button tries all the same.
    const tries = pressed || navigator.onLine !== false;
    let outcome = tries ? await sendWaiting(phone) : { how: "no_signal" };
    if (outcome.how === "ok" && (pressed || outcome.sent || (await pullIsDue()))) {
      outcome = await pullAll(phone, (pulled) => say({ pulled }));
    }
    if (outcome.how === "ok") outcome = await sendPhotos(phone);
    await note(outcome, wait);
  }

  async function pullIsDue() {
    const last = (await getSetting(phone.db, "pull"))?.whole ?? 0;
    return Math.abs(phone.clock() - last) > PULL_AGAIN_MS;
  }

  async function note({ how, answer }, wait) {
    if (how === "ok") {
      await putSetting(phone.db, "wait", { until: 0, failures: 0, byServer: false });
      await putSetting(phone.db, "last_contact", phone.clock());
      clearTimeout(timer);
      const due = await nextDue(phone.db, phone.clock());
      if (due !== null) plan(due);
      say({ how, until: 0, pulled: 0, problem: null });
      return;
    }
    const next = tryAgainAt(phone.clock(), wait.failures, answer?.retryAfterMs ?? null, Math.random());
    await putSetting(phone.db, "wait", { ...next, failures: wait.failures + 1 });
    say({ how, until: next.until, pulled: 0, problem: answer?.data ?? null });
    // Without a token or with too old an app, trying again changes nothing until the person does something.
    if (!["enrol", "update", "forbidden", "refused"].includes(how)) plan(next.until);
  }

  function plan(until) {
    clearTimeout(timer);
    timer = setTimeout(() => now(), Math.max(0, until - phone.clock()));
  }

  /** Starts listening for the moments at which it is worth trying. */
  function start() {
    // Everyone in the stairwell finds the network in the same second.
    addEventListener("online", () => plan(phone.clock() + Math.random() * FIRST_WAIT_MS));
    addEventListener("focus", () => now());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && now());
    return now();
  }

  return { now, start, state };
}

function alone(work) {
  return navigator.locks ? navigator.locks.request(LOCK, work) : work();
}
