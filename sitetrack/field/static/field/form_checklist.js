// The questions of a stage: yes or no, each a key as wide as a thumb.

import { button, fill, h } from "./dom.js";
import { part } from "./parts.js";

/**
 * @param {object} phone
 * @param {object[]} checklist of the stage
 * @param {Record<string, boolean>} answers as the draft has them
 * @param {(answers: Record<string, boolean>) => void} onChange
 */
export function checklistForm(phone, checklist, answers, onChange) {
  if (!checklist.length) return null;
  const { t } = phone;
  const given = { ...answers };
  const rows = checklist.map((item) => {
    const row = h("li", { class: "question" });
    const draw = () => {
      const at = [...row.querySelectorAll("button")].indexOf(document.activeElement);
      const words = h("span", { class: "question-text", id: `q-${item.code}` }, t.of(item.text));
      fill(row, words, answerKeys(item, given, t, set));
      if (at >= 0) row.querySelectorAll("button")[at].focus();
    };
    const set = (answer) => {
      given[item.code] = answer;
      draw();
      onChange({ ...given });
    };
    draw();
    return row;
  });
  return part(t("checklist"), h("ul", { class: "questions" }, rows));
}

/** What of a checklist is answered otherwise than expected, or not at all: a line for each, none where all is well. */
export function doubtLines(checklist, answers, t) {
  const said = (answer) => t(answer ? "yes" : "no");
  const doubtful = checklist.filter((item) => answers[item.code] !== (item.expect ?? true));
  return doubtful.map((item) => {
    const given = answers[item.code];
    const words = { given: said(given), expected: said(item.expect ?? true) };
    return h("li", {}, t.of(item.text), " ",
      h("b", { class: "out" }, given === undefined ? t("answer_missing") : t("answer_other", words)));
  });
}

function answerKeys(item, given, t, set) {
  const expected = item.expect ?? true;
  const key = (answer) => {
    const chosen = given[item.code] === answer;
    const wrong = chosen && answer !== expected;
    const look = `key${chosen ? " key-on" : ""}${wrong ? " key-out" : ""}`;
    const mark = wrong ? "✗ " : chosen ? "✓ " : "";
    return button(mark + t(answer ? "yes" : "no"), () => set(answer), { class: look, "aria-pressed": String(chosen) });
  };
  return h("span", { class: "answers", role: "group", "aria-labelledby": `q-${item.code}` }, key(true), key(false));
}
