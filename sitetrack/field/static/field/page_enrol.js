// Enrolling this phone: the supervisor's code, by link or typed, becomes a token that the phone keeps.

import { meaning, problemOf } from "./api.js";
import { button, h, oneAtATime } from "./dom.js";
import { title } from "./parts.js";
import { keepEnrolment } from "./phone.js";

/** @param {object} phone @param {{code?: string}} params */
export async function enrolPage(phone, { code = "" }) {
  const { t } = phone;
  const again = Boolean(phone.enrolment);
  const codeField = h("input", {
    id: "code", class: "field field-code", value: code, autocomplete: "off", autocapitalize: "characters",
    spellcheck: "false", maxlength: 40, required: true,
  });
  const name = phone.enrolment?.name ?? t("phone_name_first");
  const nameField = h("input", { id: "phone-name", class: "field", maxlength: 80, value: name });
  const said = h("p", { class: "problem", role: "alert" });
  const go = h("button", { class: "key key-wide key-go" }, t("enrol_go"));

  async function enrol() {
    said.textContent = "";
    go.disabled = true;
    said.textContent = await tryEnrol(phone, codeField.value.trim().toUpperCase(), nameField.value.trim());
    go.disabled = false;
  }

  return h("div", {},
    title(t(again ? "enrol_again_title" : "enrol_title")),
    h("p", {}, t(again ? "enrol_again_text" : "enrol_text")),
    isUninstalledIos() && h("p", { class: "note" }, t("enrol_ios")),
    h("form", { class: "part", on: { submit: oneAtATime(enrol) } },
      h("label", { for: "code" }, t("enrol_code")), codeField,
      h("label", { for: "phone-name" }, t("enrol_name")), nameField,
      said, go),
    again && phone.site && button(t("back"), () => phone.go("#/"), { class: "plain" }));
}

async function tryEnrol(phone, code, name) {
  const { t } = phone;
  const answer = await phone.api.enrol(code, name);
  const how = meaning(answer);
  if (how === "no_signal") return t("enrol_no_signal");
  if (how !== "ok") return problemOf(answer)?.detail ?? t("enrol_failed");
  const { token, device } = answer.data;
  await keepEnrolment(phone, { token, name, device: device.id, site: device.site, person: device.person });
  phone.changed();
  phone.go("#/");
  phone.syncing.now({ pressed: true });
  return "";
}

// On an iPhone the page in the browser and the one on the home screen share no memory.
function isUninstalledIos() {
  return navigator.standalone === false;
}
