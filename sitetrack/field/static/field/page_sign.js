// Signing a reading. On one's own phone the phone says who signs. On another's the signer gives a code of their own:
// it is held in this page's memory until the signature is sent and is never written down on the phone, so a page
// closed before that asks for it again. The server finds a wrong one and the signature comes back refused.

import { h, oneAtATime } from "./dom.js";
import { placeOf } from "./drafting.js";
import { heading } from "./page_check_in.js";
import { joined, problem, title, wideKey } from "./parts.js";
import { when, whoOf } from "./phone.js";
import { openingPlace } from "./places.js";
import { makeReport } from "./reporting.js";

/** @param {object} phone @param {{number: string, stage: string}} params */
export async function signPage(phone, { number, stage: code }) {
  const { t } = phone;
  const place = await placeOf(phone, number, code);
  const { line, stage } = place;
  if (!line?.awaitsSignature || !line.reading) return h("div", {}, title(number), h("p", {}, t("sign_nothing")));
  const report = { opening: place.number, stage: code, action: "sign", about: line.reading };
  const keep = async (signer, signingCode) => {
    if (await makeReport(phone, { ...report, signer }, { code: signingCode })) phone.go(openingPlace(place.number));
  };
  const mayMyself = stage.sign_roles.includes(whoOf(phone).role);
  return h("div", {},
    heading(phone, place),
    h("p", {}, t("sign_text")),
    readingFacts(phone, line),
    phone.site?.two_persons && h("p", { class: "note" }, t("sign_two_persons")),
    mayMyself ? ownKey(phone, keep) : otherSigner(phone, stage, keep));
}

// Nothing awaits a signature but a reading that passed, and a stage so waiting is dated by its reading.
function readingFacts(phone, { since, own, reading }) {
  const { t } = phone;
  const previewed = own?.id === reading && !own.verdict;
  return h("p", { class: "note" }, h("b", { class: "in" }, "✓ ", t("verdict_pass")), " ",
    joined([since && t("sign_read_at", { when: when(phone, since) }), previewed && t("verdict_preview")]));
}

function ownKey(phone, keep) {
  const words = phone.t("sign_mine", { name: phone.site.person?.name ?? "" });
  return h("div", { class: "actions" }, wideKey(words, () => keep(), "key-go"));
}

function otherSigner(phone, stage, keep) {
  const { t } = phone;
  const signers = (phone.site?.signers ?? []).filter((person) => stage.sign_roles.includes(person.role));
  if (!signers.length) return problem(t("sign_nobody"));
  const named = ({ id, name, role }) => h("option", { value: id }, `${name} (${t.stored("role", role)})`);
  const who = h("select", { id: "signer", class: "choice", required: true },
    h("option", { value: "" }, "—"), signers.map(named));
  const code = codeField("signing-code");
  return h("form", { class: "part", on: { submit: oneAtATime(() => keep(who.value, code.value)) } },
    h("label", { for: "signer" }, t("sign_who")), who,
    h("label", { for: "signing-code" }, t("sign_code")), code,
    h("p", { class: "hint" }, t("sign_code_hint")),
    h("button", { class: "key key-wide key-go" }, t("sign_go")));
}

/** A field for a signing code that no browser offers to remember. */
export function codeField(id) {
  return h("input", {
    id, class: "field field-code", type: "password", inputmode: "numeric", autocomplete: "one-time-code",
    required: true, minlength: 6, maxlength: 12, pattern: "[0-9]*",
  });
}
