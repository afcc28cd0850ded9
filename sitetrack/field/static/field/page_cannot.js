// Cannot: something stops this opening. The reason, a photo, and the supervisor sees it. Also a plain note.

import { h } from "./dom.js";
import { finishDraft, noteForm, openDraft, placeOf } from "./drafting.js";
import { photosForm } from "./form_photos.js";
import { choiceKey, hint, titleAt, wideKey } from "./parts.js";

const REASONS = ["no_frame", "damaged", "wrong_frame", "not_ready", "no_access", "drawings", "unsafe", "other"];

/** @param {object} phone @param {{number: string, stage: string}} params */
export async function cannotPage(phone, { number, stage: code }) {
  const { t } = phone;
  const place = await placeOf(phone, number, code);
  const opened = await openDraft(phone, place.number, code, "cannot");
  const { draft } = opened;
  const keys = h("div", { class: "reasons", role: "group", "aria-label": t("cannot_why") });
  const said = h("p", { class: "problem", role: "alert" });

  function draw() {
    const at = [...keys.children].indexOf(document.activeElement);
    keys.replaceChildren(...REASONS.map((name) =>
      choiceKey(t(`reason_${name}`), name === draft.reason, () => choose(name))));
    keys.children[at]?.focus();
  }

  function choose(reason) {
    said.textContent = "";
    opened.change({ reason });
    draw();
  }

  async function send() {
    const written = draft.note.trim();
    if (!draft.reason || (draft.reason === "other" && !written)) {
      said.textContent = t("cannot_needs_reason");
      return;
    }
    const reason = draft.reason === "other" ? "" : t(`reason_${draft.reason}`);
    const note = [reason, written].filter(Boolean).join(": ");
    const { photos } = draft;
    await finishDraft(phone, opened, { opening: place.number, stage: code, action: "hold", note, photos });
  }

  draw();
  return h("div", {},
    titleAt(place.number, t("cannot_title")),
    place.stage && hint(t.of(place.stage.title)),
    h("h2", {}, t("cannot_why")), keys,
    noteForm(phone, opened),
    photosForm(phone, draft.photos, (photos) => opened.change({ photos })),
    said,
    h("div", { class: "actions" }, wideKey(t("cannot_send"), send, "key-go")));
}

/** @param {object} phone @param {{number: string, stage: string}} params */
export async function notePage(phone, { number, stage: code }) {
  const { t } = phone;
  const place = await placeOf(phone, number, code);
  const opened = await openDraft(phone, place.number, code, "note");
  const said = h("p", { class: "problem", role: "alert" });

  async function send() {
    const { note, photos } = opened.draft;
    if (!note.trim() && !photos.length) {
      said.textContent = t("note_needs_words");
      document.getElementById("note").focus();
      return;
    }
    await finishDraft(phone, opened, { opening: place.number, stage: code, action: "note", note, photos });
  }

  return h("div", {},
    titleAt(place.number, t("note")),
    noteForm(phone, opened),
    photosForm(phone, opened.draft.photos, (photos) => opened.change({ photos })),
    said,
    h("div", { class: "actions" }, wideKey(t("note_send"), send, "key-go")));
}
