// This phone: its language, who it is enrolled for, how safe its memory is, and emptying it for another hand.

import { button, h } from "./dom.js";
import { LANGUAGES } from "./language.js";
import { chooseLanguage, forgetPhone, when } from "./phone.js";
import { countWaiting } from "./queue.js";
import { countOpenings } from "./records.js";
import { getSetting } from "./store.js";

/** @param {object} phone */
export async function phonePage(phone) {
  const { t, site, enrolment } = phone;
  const [pull, openings, kept, waiting] = await Promise.all([
    getSetting(phone.db, "pull"), countOpenings(phone.db), navigator.storage?.persisted?.() ?? false, countWaiting(phone.db),
  ]);
  const room = (await navigator.storage?.estimate?.()) ?? null;
  const row = (term, value) => [h("dt", {}, t(term)), h("dd", {}, value)];
  return h("div", {},
    h("h1", { tabindex: -1 }, t("phone_title")),
    h("section", { class: "part" }, h("h2", { id: "language" }, t("language")),
      h("div", { class: "key-row", role: "group", "aria-labelledby": "language" }, Object.entries(LANGUAGES).map(([code, name]) =>
        button(name, async () => { await chooseLanguage(phone, code); phone.changed(); phone.redraw(); },
          { class: `key key-wide${t.language === code ? " key-on" : ""}`, lang: code, "aria-pressed": String(t.language === code) })))),
    h("dl", { class: "facts" },
      row("phone_site", site?.name ?? "—"),
      row("phone_person", site?.person?.name ?? "—"),
      row("phone_company", site?.company?.name ?? "—"),
      row("phone_role", [site?.role && t.stored("role", site.role), ...(site?.trades ?? []).map((trade) => t.stored("trade", trade))].filter(Boolean).join(", ") || "—"),
      row("phone_units", t(`units_${site?.units ?? "imperial"}`)),
      row("phone_openings", `${openings}${pull?.whole ? ` · ${when(phone, pull.whole)}` : ` · ${t("load_unfinished")}`}`),
      row("phone_memory", t(kept ? "memory_kept" : "memory_may_go")),
      room?.quota > 0 && row("phone_room", t("room", { used: megabytes(room.usage), all: megabytes(room.quota) }))),
    h("p", {}, h("a", { class: "key key-wide", href: "#/enrol" }, t("enrol_again_go"))),
    enrolment && emptyKey(phone, waiting));
}

// Pressed twice, and never while a report would be lost with it.
function emptyKey(phone, waiting) {
  const { t } = phone;
  if (waiting) return h("p", { class: "hint" }, t.many("empty_not_yet", waiting));
  const key = button(t("empty_phone"), async () => {
    if (key.dataset.sure !== "yes") {
      key.dataset.sure = "yes";
      key.textContent = t("empty_sure");
      return;
    }
    if (await countWaiting(phone.db)) return;
    await forgetPhone(phone);
    phone.changed();
    phone.go("#/enrol");
  }, { class: "key key-wide" });
  return h("p", {}, key);
}

function megabytes(bytes) {
  return (bytes / 1e6).toFixed(bytes < 1e8 ? 1 : 0);
}
