// What waits to be sent, and what became of what was: nobody has to wonder whether it went.

import { button, h, oneAtATime } from "./dom.js";
import { draftAgain } from "./drafting.js";
import { codeField } from "./page_sign.js";
import { hint, joined, part, problem, title, wideKey } from "./parts.js";
import { stageNamed, when } from "./phone.js";
import { waitingPhotos } from "./photos.js";
import { openingPlace } from "./places.js";
import { allItems, dealtWith, wasOnItsWay } from "./queue.js";
import { openingsOf } from "./records.js";
import { takeBack } from "./reporting.js";
import { whyNot } from "./sending.js";
import { getSetting } from "./store.js";

const SHOWN_SENT = 40;
const ACTS = { hold: "cannot", note: "note", sign: "sign" };

/** @param {object} phone */
export async function waitingPage(phone) {
  const { t } = phone;
  const items = await allItems(phone.db);
  const of = (...states) => items.filter((item) => states.includes(item.state));
  const openings = await openingsOf(phone.db, items.map((item) => item.report.opening));
  const at = { phone, openings, takenBack: takenBackIn(items) };
  const waiting = of("waiting");
  return h("div", {},
    title(t("waiting_title")),
    await summary(phone, waiting.length, of("refused").length),
    h("div", { class: "actions" }, wideKey(t("send_now"), () => phone.syncing.now({ pressed: true }), "key-go")),
    codeForms(phone, waiting),
    waiting.length > 0 && rows(at, waiting),
    group(at, t("refused_title"), of("refused")),
    group(at, t("kept_aside_title"), of("kept_aside"), t("kept_aside_text")),
    group(at, t("sent_title"), of("sent", "undone", "mended", "put_away").reverse().slice(0, SHOWN_SENT)));
}

async function summary(phone, waiting, refused) {
  const { t } = phone;
  const photos = (await waitingPhotos(phone.db)).length;
  const contact = await getSetting(phone.db, "last_contact");
  const reports = waiting ? t.many("waiting", waiting) : !refused && t("all_sent");
  return [
    h("p", { class: "big" }, joined([reports, photos > 0 && t.many("photos_waiting", photos)])),
    refused > 0 && h("p", { class: "big out" }, "✗ ", t.many("refused", refused)),
    hint(contact ? t("last_contact", { when: when(phone, contact) }) : t("no_contact")),
  ];
}

function takenBackIn(items) {
  const voids = items.filter((item) => item.report.action === "void" && item.state !== "refused");
  return new Set(voids.map((item) => item.report.about));
}

function rows(at, items) {
  return h("ol", { class: "items" }, items.map((item) => itemRow(at, item)));
}

function group(at, heading, items, text = "") {
  return items.length > 0 && part(`${heading} (${items.length})`, text && hint(text), rows(at, items));
}

function itemRow(at, item) {
  const { t } = at.phone;
  const { report } = item;
  const stage = stageNamed(at.phone, at.openings.get(item.key), report.stage);
  const verdict = item.verdict?.verdict ?? item.preview;
  return h("li", { class: "item" },
    h("p", {}, h("a", { class: "number", href: openingPlace(report.opening) }, report.opening), " ",
      stage ? t.of(stage.title) : report.stage, ": ", h("b", {}, t.stored("action", report.action)),
      verdict && ` (${t(`verdict_${verdict}`)})`),
    hint(itemDetail(at, item)),
    item.problem && item.state !== "sent" && problem(item.problem.detail || item.problem.title),
    itemKeys(at, item));
}

function itemDetail({ phone, takenBack }, item) {
  const { t } = phone;
  const photos = item.report.photos?.length ?? 0;
  return joined([
    when(phone, item.madeAt),
    t(`item_${stateOf(phone, item)}`),
    takenBack.has(item.id) && t("taken_back"),
    photos > 0 && t.many("photos_n", photos),
  ]);
}

function stateOf(phone, item) {
  if (item.state !== "waiting") return item.state;
  return whyNot(item, phone) ?? (item.problem ? "set_back" : "waiting");
}

function itemKeys({ phone, takenBack }, item) {
  const { t } = phone;
  const key = (words, onClick) => button(words, onClick, { class: "key" });
  if (item.state === "refused") {
    return h("div", { class: "key-row" },
      key(t("mend"), () => mend(phone, item)), key(t("put_away"), () => settleBy(phone, item, "put_away")));
  }
  const stands = ["waiting", "sent"].includes(item.state) && !takenBack.has(item.id);
  if (!stands || item.report.action === "void") return null;
  return h("div", { class: "key-row" },
    key(t(wasOnItsWay(item) ? "take_back" : "undo"), () => takeBack(phone, item)));
}

async function settleBy(phone, item, state) {
  await dealtWith(phone.db, item.n, state);
  phone.changed();
}

// What was refused goes back into a draft with everything in it; the mended one is a new report with its own id. A
// signature has nothing to keep in a draft: its signer and code are given anew.
async function mend(phone, item) {
  const { report } = item;
  const act = ACTS[report.action] ?? "";
  if (act !== "sign") await draftAgain(phone, report.opening, report, act);
  await settleBy(phone, item, "mended");
  phone.go(openingPlace(report.opening, report.stage, act));
}

// One code for all signatures of one signer that wait for it.
function codeForms(phone, waiting) {
  const lacking = waiting.filter((item) => whyNot(item, phone) === "needs_code");
  const signers = [...new Set(lacking.map((item) => item.report.signer))];
  return signers.map((signer) => codeForm(phone, signer, lacking.filter((item) => item.report.signer === signer)));
}

function codeForm(phone, signer, items) {
  const { t } = phone;
  const name = phone.site?.signers?.find((person) => person.id === signer)?.name ?? t("sign_who");
  const field = codeField(`code-${signer}`);
  const send = () => {
    for (const item of items) phone.codes.set(item.id, field.value);
    field.value = "";
    phone.changed();
    return phone.syncing.now();
  };
  return h("form", { class: "part", on: { submit: oneAtATime(send) } },
    h("p", {}, t.many("code_needed", items.length, { name })),
    h("label", { for: field.id }, t("sign_code")), field,
    h("button", { class: "key key-wide" }, t("sign_go")));
}
