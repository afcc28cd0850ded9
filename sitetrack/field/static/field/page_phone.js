// This phone: its language, who it is enrolled for, how safe its memory is, and emptying it for another hand.

import { question } from "./asking.js";
import { h } from "./dom.js";
import { draftNames, numberOfDraft } from "./drafts.js";
import { LANGUAGES } from "./language.js";
import { choiceKey, hint, joined, part, problem, title, wideKey, wideLink } from "./parts.js";
import { chooseLanguage, forgetPhone, when } from "./phone.js";
import { countWaiting } from "./queue.js";
import { countOpenings } from "./records.js";
import { getSetting } from "./store.js";

/** @param {object} phone */
export async function phonePage(phone) {
  const { t } = phone;
  const waiting = await countWaiting(phone.db);
  return h("div", {},
    title(t("phone_title")),
    languageChoice(phone),
    h("dl", { class: "facts" }, personRows(phone), await memoryRows(phone)),
    h("p", {}, wideLink(t("enrol_again_go"), "#/enrol")),
    phone.enrolment && emptyKey(phone, waiting));
}

function languageChoice(phone) {
  const { t } = phone;
  const choose = async (code) => {
    await chooseLanguage(phone, code);
    phone.changed();
    phone.redraw();
  };
  const keys = Object.entries(LANGUAGES).map(([code, name]) =>
    choiceKey(name, t.language === code, () => choose(code), { lang: code }));
  return part(t("language"), h("div", { class: "key-row", role: "group", "aria-label": t("language") }, keys));
}

function personRows(phone) {
  const { t, site } = phone;
  const trades = (site?.trades ?? []).map((trade) => t.stored("trade", trade));
  return [
    row(t("phone_site"), site?.name),
    row(t("phone_person"), site?.person?.name),
    row(t("phone_company"), site?.company?.name),
    row(t("phone_role"), site && joined([t.stored("role", site.role), ...trades], ", ")),
    row(t("phone_units"), t(`units_${site?.units ?? "imperial"}`)),
  ];
}

async function memoryRows(phone) {
  const { t } = phone;
  const pull = await getSetting(phone.db, "pull");
  const kept = await navigator.storage?.persisted?.();
  const room = await navigator.storage?.estimate?.();
  const loaded = pull?.whole ? when(phone, pull.whole) : t("load_unfinished");
  return [
    row(t("phone_openings"), joined([String(await countOpenings(phone.db)), loaded])),
    row(t("phone_memory"), t(kept ? "memory_kept" : "memory_may_go")),
    room?.quota > 0 && row(t("phone_room"), t("room", { used: megabytes(room.usage), all: megabytes(room.quota) })),
  ];
}

function row(term, value) {
  return [h("dt", {}, term), h("dd", {}, value || "—")];
}

// Asked first, with what is half made and goes with it; and never while a report would be lost.
function emptyKey(phone, waiting) {
  const { t } = phone;
  if (waiting) return hint(t.many("empty_not_yet", waiting));
  const sure = question(t("empty_now"), async () => {
    if (await countWaiting(phone.db)) {
      phone.redraw();
      return;
    }
    await forgetPhone(phone);
    phone.changed();
    phone.go("#/enrol");
  });
  const ask = async () => {
    const drafts = await draftNames(phone.db);
    const numbers = [...new Set(drafts.map(numberOfDraft))].join(", ");
    sure.ask(
      h("p", {}, t("empty_sure")),
      drafts.length > 0 && problem(t.many("empty_drafts", drafts.length, { numbers })));
  };
  return h("div", { class: "actions" }, wideKey(t("empty_phone"), ask), sure.box);
}

function megabytes(bytes) {
  return (bytes / 1e6).toFixed(bytes < 1e8 ? 1 : 0);
}
