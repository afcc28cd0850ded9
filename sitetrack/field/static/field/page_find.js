// Find an opening by its number, or by part of it.

import { fill, h, oneAtATime } from "./dom.js";
import { hint, title } from "./parts.js";
import { openingPlace } from "./places.js";
import { countOpenings, numbersLike } from "./records.js";

/** @param {object} phone @param {{text?: string}} params */
export async function findPage(phone, { text = "" }) {
  const { t, db } = phone;
  const list = h("ul", { class: "found" });
  const field = h("input", {
    id: "find", class: "field field-code", type: "search", autocomplete: "off", autocapitalize: "characters",
    spellcheck: "false", enterkeyhint: "go", maxlength: 40, value: text, on: { input: () => look() },
  });

  async function look() {
    const wanted = field.value.trim();
    if (!wanted) return fill(list);
    const numbers = await numbersLike(db, wanted);
    if (field.value.trim() !== wanted) return list;
    const row = (number, words, look) => h("li", {}, h("a", { class: look, href: openingPlace(number) }, words));
    const isKnown = numbers.includes(wanted.toUpperCase());
    return fill(list, numbers.map((number) => row(number, number, "found-row number")),
      !isKnown && row(wanted, t("find_unknown", { number: wanted }), "found-row"));
  }

  async function open() {
    const wanted = field.value.trim();
    const numbers = wanted ? await numbersLike(db, wanted, 2) : [];
    if (wanted) phone.go(openingPlace(numbers.length === 1 ? numbers[0] : wanted));
  }

  await look();
  return h("div", {},
    title(t("find_title")),
    h("form", { class: "part", on: { submit: oneAtATime(open) } }, h("label", { for: "find" }, t("find_label")), field),
    list,
    hint(t.many("find_count", await countOpenings(db)), " ", t("find_label_hint")));
}

