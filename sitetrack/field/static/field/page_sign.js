// Signing a reading. On one's own phone the phone says who signs. On another's the signer gives a code of their own:
// it is held in this page's memory until the signature is sent and is never written down on the phone, so a page
// closed before that asks for it again. The server finds a wrong one and the signature comes back refused.

import { button, h, oneAtATime } from "./dom.js";
import { heading, placeOf } from "./page_check_in.js";
import { whoOf } from "./phone.js";
import { makeReport } from "./reporting.js";

/** @param {object} phone @param {{number: string, stage: string}} params */
export async function signPage(phone, { number, stage: code }) {
  const { t } = phone;
  const place = await placeOf(phone, number, code);
  const { line, stage } = place;
  if (!line?.awaitsSignature || !line.reading) {
    return h("div", {}, h("h1", { tabindex: -1 }, number), h("p", {}, t("sign_nothing")));
  }
  const own = (stage.sign_roles ?? []).includes(whoOf(phone).role);
  const signers = (phone.site?.signers ?? []).filter((person) => stage.sign_roles.includes(person.role));
  const report = { opening: place.number, stage: code, action: "sign", about: line.reading };

  async function keep(more, code) {
    if (await makeReport(phone, { ...report, ...more }, { code })) phone.go(`#/opening/${encodeURIComponent(place.number)}`);
  }

  return h("div", {},
    heading(phone, place),
    h("p", {}, t("sign_text")),
    phone.site?.two_persons && h("p", { class: "note" }, t("sign_two_persons")),
    own && h("div", { class: "actions" },
      button(t("sign_mine", { name: phone.site.person?.name ?? "" }), () => keep({}), { class: "key key-wide key-go" })),
    !own && otherSigner(phone, signers, keep));
}

function otherSigner(phone, signers, keep) {
  const { t } = phone;
  if (!signers.length) return h("p", { class: "problem" }, t("sign_nobody"));
  const who = h("select", { id: "signer", class: "choice", required: true },
    h("option", { value: "" }, "—"), signers.map((person) => h("option", { value: person.id }, `${person.name} (${t.stored("role", person.role)})`)));
  const code = codeField("signing-code");
  return h("form", { class: "part", on: { submit: oneAtATime(() => keep({ signer: who.value }, code.value)) } },
    h("label", { for: "signer" }, t("sign_who")), who,
    h("label", { for: "signing-code" }, t("sign_code")), code,
    h("p", { class: "hint" }, t("sign_code_hint")),
    h("button", { class: "key key-wide key-go" }, t("sign_go")));
}

/** A field for a signing code that no browser offers to remember. */
export function codeField(id) {
  return h("input", {
    id, class: "field field-code", type: "password", inputmode: "numeric", autocomplete: "one-time-code",
    required: true, minlength: 4, maxlength: 20,
  });
}
