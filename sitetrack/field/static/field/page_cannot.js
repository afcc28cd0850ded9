// Cannot: something stops this opening. The reason, a photo, and the supervisor sees it. Also a plain note.

import { button, h } from "./dom.js";
import { draftName } from "./drafts.js";
import { photosForm } from "./form_photos.js";
import { noteForm, openDraft, placeOf } from "./page_check_in.js";
import { makeReport } from "./reporting.js";
import { putSetting } from "./store.js";

const REASONS = ["no_frame", "damaged", "wrong_frame", "not_ready", "no_access", "drawings", "unsafe", "other"];

/** @param {object} phone @param {{number: string, stage: string}} params */
export async function cannotPage(phone, { number, stage: code }) {
  const { t } = phone;
  const place = await placeOf(phone, number, code);
  const opened = await openDraft(phone, draftName(place.number, `${code} cannot`));
  let reason = opened.draft.reason ?? "";
  const keys = h("div", { class: "reasons", role: "group", "aria-label": t("cannot_why") });
  const said = h("p", { class: "problem", role: "alert" });

  function draw() {
    const at = [...keys.children].indexOf(document.activeElement);
    keys.replaceChildren(...REASONS.map((name) =>
      button(t(`reason_${name}`), () => choose(name), { class: `key key-wide${name === reason ? " key-on" : ""}`, "aria-pressed": String(name === reason) })));
    if (at >= 0) keys.children[at].focus();
  }

  function choose(name) {
    reason = name;
    said.textContent = "";
    opened.change({ reason });
    draw();
  }

  async function send() {
    const { note, photos } = opened.draft;
    if (!reason || (reason === "other" && !note.trim())) {
      said.textContent = t("cannot_needs_reason");
      return;
    }
    await opened.close();
    const words = [reason === "other" ? "" : t(`reason_${reason}`), note.trim()].filter(Boolean).join(": ");
    await finish(phone, place, { opening: place.number, stage: code, action: "hold", note: words, photos }, opened.name);
  }

  draw();
  return h("div", {},
    h("h1", { tabindex: -1 }, h("a", { class: "number back", href: `#/opening/${encodeURIComponent(place.number)}` }, "‹ ", place.number), " ", t("cannot_title")),
    h("p", { class: "hint" }, place.stage && t.of(place.stage.title)),
    h("h2", {}, t("cannot_why")), keys,
    noteForm(phone, opened.draft.note, (note) => opened.change({ note })),
    photosForm(phone, opened.draft.photos, (photos) => opened.change({ photos })),
    said,
    h("div", { class: "actions" }, button(t("cannot_send"), send, { class: "key key-wide key-go" })));
}

/** @param {object} phone @param {{number: string, stage: string}} params */
export async function notePage(phone, { number, stage: code }) {
  const { t } = phone;
  const place = await placeOf(phone, number, code);
  const opened = await openDraft(phone, draftName(place.number, `${code} note`));

  async function send() {
    const { note, photos } = opened.draft;
    if (!note.trim() && !photos.length) return;
    await opened.close();
    await finish(phone, place, { opening: place.number, stage: code, action: "note", note, photos }, opened.name);
  }

  return h("div", {},
    h("h1", { tabindex: -1 }, h("a", { class: "number back", href: `#/opening/${encodeURIComponent(place.number)}` }, "‹ ", place.number), " ", t("note")),
    noteForm(phone, opened.draft.note, (note) => opened.change({ note })),
    photosForm(phone, opened.draft.photos, (photos) => opened.change({ photos })),
    h("div", { class: "actions" }, button(t("note_send"), send, { class: "key key-wide key-go" })));
}

async function finish(phone, place, report, draft) {
  await putSetting(phone.db, "last_opening", place.number);
  if (await makeReport(phone, report, { draft })) phone.go(`#/opening/${encodeURIComponent(place.number)}`);
  else phone.redraw();
}
