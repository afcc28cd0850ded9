// What waits to be sent, and what became of what was: nobody has to wonder whether it went.

import { button, h, oneAtATime } from "./dom.js";
import { draftKeeper, draftName } from "./drafts.js";
import { EMPTY } from "./page_check_in.js";
import { codeField } from "./page_sign.js";
import { stagesOf, when } from "./phone.js";
import { waitingPhotos } from "./photos.js";
import { allItems, dealtWith, wasOnItsWay } from "./queue.js";
import { openingOf } from "./records.js";
import { takeBack } from "./reporting.js";
import { whyNot } from "./sending.js";
import { getSetting } from "./store.js";

const SHOWN_SENT = 40;

/** @param {object} phone */
export async function waitingPage(phone) {
  const { t } = phone;
  const items = await allItems(phone.db);
  const of = (...states) => items.filter((item) => states.includes(item.state));
  const waiting = of("waiting");
  const needCode = waiting.filter((item) => whyNot(item, phone) === "needs_code");
  const photos = await waitingPhotos(phone.db);
  const contact = await getSetting(phone.db, "last_contact");
  const takenBack = new Set(items.filter((item) => item.report.action === "void" && item.state !== "refused").map((item) => item.report.about));
  const rows = (list) => h("ol", { class: "items" }, list.map((item) => itemRow(phone, item, takenBack)));
  return h("div", {},
    h("h1", { tabindex: -1 }, t("waiting_title")),
    h("p", { class: "big" }, waiting.length ? t.many("waiting", waiting.length) : t("all_sent"), photos.length > 0 && ` · ${t.many("photos_waiting", photos.length)}`),
    h("p", { class: "hint" }, contact ? t("last_contact", { when: when(phone, contact) }) : t("no_contact")),
    h("div", { class: "actions" }, button(t("send_now"), () => phone.syncing.now({ pressed: true }), { class: "key key-wide key-go" })),
    needCode.length > 0 && codesForm(phone, needCode),
    waiting.length > 0 && rows(waiting),
    section(t("refused_title"), of("refused"), rows),
    section(t("kept_aside_title"), of("kept_aside"), rows, t("kept_aside_text")),
    section(t("sent_title"), of("sent", "undone", "mended", "put_away").reverse().slice(0, SHOWN_SENT), rows));
}

function section(title, items, rows, text = "") {
  return items.length > 0 && h("section", { class: "part" }, h("h2", {}, `${title} (${items.length})`), text && h("p", { class: "hint" }, text), rows(items));
}

function itemRow(phone, item, takenBack) {
  const { t } = phone;
  const { report } = item;
  const stage = stagesOf(phone, null).find((each) => each.code === report.stage);
  const verdict = item.verdict?.verdict ?? item.preview;
  return h("li", { class: "item" },
    h("p", {}, h("a", { class: "number", href: `#/opening/${encodeURIComponent(report.opening)}` }, report.opening), " ",
      stage ? t.of(stage.title) : report.stage, ": ", h("b", {}, t.stored("action", report.action)),
      verdict && ` (${t(`verdict_${verdict}`)})`),
    h("p", { class: "hint" }, when(phone, item.madeAt), " · ", stateWords(phone, item), takenBack.has(item.id) && ` · ${t("taken_back")}`,
      report.photos?.length > 0 && ` · ${t.many("photos_n", report.photos.length)}`),
    item.problem && item.state !== "sent" && h("p", { class: "problem" }, item.problem.detail || item.problem.title),
    itemKeys(phone, item, takenBack));
}

function stateWords(phone, item) {
  const { t } = phone;
  if (item.state !== "waiting") return t(`item_${item.state}`);
  const why = whyNot(item, phone);
  if (why) return t(`item_${why}`);
  return t(item.problem ? "item_set_back" : "item_waiting");
}

function itemKeys(phone, item, takenBack) {
  const { t } = phone;
  const keys = [];
  const canTakeBack = ["waiting", "sent"].includes(item.state) && item.report.action !== "void" && !takenBack.has(item.id);
  if (canTakeBack) keys.push(button(t(wasOnItsWay(item) ? "take_back" : "undo"), () => takeBack(phone, item), { class: "key" }));
  if (item.state === "refused") {
    keys.push(button(t("mend"), () => mend(phone, item), { class: "key" }));
    keys.push(button(t("put_away"), async () => { await dealtWith(phone.db, item.n, "put_away"); phone.changed(); }, { class: "key" }));
  }
  return keys.length > 0 && h("div", { class: "key-row" }, keys);
}

// What was refused goes back into a draft with everything in it; the mended one is a new report with its own id.
async function mend(phone, item) {
  const { report } = item;
  const opening = await openingOf(phone.db, report.opening);
  const number = opening?.number ?? report.opening;
  const act = { hold: "cannot", note: "note", sign: "sign" }[report.action] ?? "";
  const given = { answers: report.answers ?? {}, readings: report.readings ?? {}, note: report.note ?? "", photos: report.photos ?? [] };
  const draft = { ...EMPTY, ...given, ...(act === "cannot" && { reason: "other" }) };
  const keeper = draftKeeper(phone.db, draftName(number, [report.stage, act].filter(Boolean).join(" ")), (error) => phone.say(String(error), true));
  await keeper.keep(draft);
  await dealtWith(phone.db, item.n, "mended");
  phone.changed();
  phone.go(`#/opening/${encodeURIComponent(number)}/${encodeURIComponent(report.stage)}${act && `/${act}`}`);
}

// One code for all signatures of one signer that wait for it.
function codesForm(phone, items) {
  const { t } = phone;
  const signers = [...new Set(items.map((item) => item.report.signer))];
  return signers.map((signer) => {
    const mine = items.filter((item) => item.report.signer === signer);
    const name = phone.site?.signers?.find((person) => person.id === signer)?.name ?? t("sign_who");
    const field = codeField(`code-${signer}`);
    const send = () => {
      for (const item of mine) phone.codes.set(item.id, field.value);
      field.value = "";
      phone.changed();
      return phone.syncing.now();
    };
    return h("form", { class: "part", on: { submit: oneAtATime(send) } },
      h("p", {}, t.many("code_needed", mine.length, { name })), h("label", { for: field.id }, t("sign_code")), field,
      h("button", { class: "key key-wide" }, t("sign_go")));
  });
}
