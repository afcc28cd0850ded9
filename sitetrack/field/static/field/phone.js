// What one open page knows: who this phone is enrolled for, the site, its plans and limits, and the words to say it in.

import { makeApi } from "./api.js";
import { firstLanguage, momentText, speaker } from "./language.js";
import { allOf } from "./records.js";
import { alone, asked, forgetEverything, getSetting, inTransaction, putSetting } from "./store.js";

/**
 * Opens the phone's memory.
 * @param {IDBDatabase} db
 * @param {string} apiBase
 */
export async function openPhone(db, apiBase) {
  const phone = {
    db,
    clock: () => Date.now(),
    enrolment: (await getSetting(db, "enrolment")) ?? null,
    // Signing codes live here and nowhere else: a closed page forgets them.
    codes: new Map(),
    site: null,
    floors: [],
    plans: new Map(),
    profile: null,
    t: speaker("en"),
  };
  phone.api = makeApi(apiBase, () => phone.enrolment?.token ?? null, () => phone.t.language);
  await readRecords(phone);
  return phone;
}

/** Reads anew what the server told of the site, and the language to say it in. */
export async function readRecords(phone) {
  const [sites, floors, plans, profiles] = await Promise.all(
    ["site", "floor", "plan", "profile"].map((type) => allOf(phone.db, type)),
  );
  phone.site = sites.find((site) => site.id === phone.enrolment?.site) ?? null;
  phone.floors = floors.sort((one, other) => (one.level ?? 0) - (other.level ?? 0));
  phone.plans = new Map(plans.map((plan) => [plan.id, plan]));
  phone.profile = profiles[0] ?? null;
  const chosen = await getSetting(phone.db, "language");
  phone.t = speaker(firstLanguage(chosen, navigator.languages, phone.site?.language));
}

/** Who works with this phone: trades and role on the site. */
export function whoOf(phone) {
  return { trades: phone.site?.trades ?? [], role: phone.site?.role ?? "viewer" };
}

/** The stages of an opening's plan, of any plan where the opening is not known. */
export function stagesOf(phone, opening) {
  const plan = phone.plans.get(opening?.plan) ?? [...phone.plans.values()][0];
  return plan?.stages ?? [];
}

/** The stage a report names: of its opening's own plan, else of any plan that has the code, else undefined. */
export function stageNamed(phone, opening, code) {
  const plans = [phone.plans.get(opening?.plan), ...phone.plans.values()];
  return plans.flatMap((plan) => plan?.stages ?? []).find((stage) => stage.code === code);
}

/** A moment as the site's clocks show it. */
export function when(phone, moment) {
  const ms = typeof moment === "string" ? Date.parse(moment) : moment;
  return momentText(ms, phone.t.language, phone.site?.time_zone, phone.clock());
}

/** A day and time without doubt about the year is not needed on site: floors are called as the site calls them. */
export function floorName(phone, id) {
  const floor = phone.floors.find((each) => each.id === id);
  return floor?.name || floor?.code || "";
}

/** Chooses the language of this phone. */
export async function chooseLanguage(phone, language) {
  await putSetting(phone.db, "language", language);
  phone.t = speaker(language);
}

/**
 * Keeps a new enrolment. Reports that wait stay, whoever made them; what the server told is forgotten when another
 * person or site may see something else.
 */
export async function keepEnrolment(phone, enrolment) {
  await alone(() => putEnrolment(phone, enrolment));
  await readRecords(phone);
}

// Alone: what is being pulled for whoever held the phone before would be stored over what is forgotten here.
async function putEnrolment(phone, enrolment) {
  const before = phone.enrolment;
  const same = before && before.site === enrolment.site && before.person === enrolment.person;
  await inTransaction(phone.db, ["settings", "openings", "records"], "readwrite", async (stores) => {
    stores.settings.put(enrolment, "enrolment");
    stores.settings.delete("wait");
    if (same) return;
    stores.settings.delete("pull");
    stores.openings.clear();
    await asked(stores.records.clear());
  });
  phone.enrolment = enrolment;
}

/** Empties the phone; the caller has made sure that nothing waits. */
export async function forgetPhone(phone) {
  await forgetEverything(phone.db);
  phone.enrolment = null;
  phone.codes.clear();
  await readRecords(phone);
}
