// Readings of a check, one measure after the other, each judged as its key is pressed.

import { bigKeys } from "./big_keys.js";
import { button, fill, h } from "./dom.js";
import { formatLength } from "./lengths.js";
import { MEASURES } from "./measures.js";
import { sketch } from "./sketch.js";

/**
 * @param {object} phone
 * @param {object} given required (names), readings (as the draft has them), opening {width, height, hand},
 *   judged(readings) the preview verdict, onChange(readings)
 * @returns {{part: HTMLElement, dock: HTMLElement}} the list, and the keys to be docked under it
 */
export function readingsForm(phone, { required, readings, opening, judged, onChange }) {
  const { t } = phone;
  const units = phone.profile?.units ?? phone.site?.units ?? "imperial";
  const taken = { ...readings };
  const names = [...required, ...Object.keys(taken).filter((name) => name in MEASURES && !required.includes(name))];
  const rows = new Map();
  const list = h("ol", { class: "readings" });
  const dock = h("div", { class: "dock", hidden: true });
  const dockNow = h("p", { class: "dock-now" });
  let active = null;
  let quiet = false;

  function set(name, text) {
    if (text === "") delete taken[name];
    else taken[name] = text;
    rows.get(name).input.value = text;
    onChange({ ...taken });
    mark();
  }

  function mark() {
    const verdict = judged(taken);
    for (const [name, row] of rows) fill(row.mark, markOf(name, verdict, units, t));
    if (active) fill(dockNow, h("b", { class: "dock-value" }, taken[active] || "—"), markOf(active, verdict, units, t));
  }

  function add(name) {
    const input = h("input", {
      id: `r-${name}`, class: "reading", type: "text", inputmode: "none", autocomplete: "off", spellcheck: "false",
      value: taken[name] ?? "", maxlength: 40, "aria-describedby": `h-${name} v-${name}`,
      on: { focus: () => quiet || open(name), input: () => set(name, input.value.trim()) },
    });
    const mark = h("span", { class: "mark", id: `v-${name}` });
    const item = h("li", { class: "reading-row", on: { click: () => active !== name && open(name) } },
      h("label", { for: `r-${name}` }, nameOf(name, t)), input, mark);
    rows.set(name, { input, mark, item });
    list.append(item);
  }

  function open(name) {
    active = name;
    if (!(name in MEASURES)) return typed(name);
    for (const [each, row] of rows) row.item.classList.toggle("reading-active", each === name);
    dock.hidden = false;
    const next = names[names.indexOf(name) + 1];
    const others = [
      button(t("keys_letters"), () => typeLetters(name), { class: "key" }),
      button(t("keys_clear"), () => { set(name, ""); open(name); }, { class: "key" }),
    ];
    fill(dock,
      h("div", { class: "dock-head" },
        sketch(name, hingesLeft(opening?.hand)),
        h("p", { id: `h-${name}` }, h("b", {}, t(`m_${name}`)), " ", t(`how_${name}`)),
        dockNow),
      bigKeys({ measure: name, text: taken[name] ?? "", opening, units, t, others, onText: (text) => set(name, text) }),
      h("div", { class: "key-row" }, button(t("keys_close"), close, { class: "key" }),
        next && button(t("keys_next"), () => open(next), { class: "key key-go" })));
    mark();
    rows.get(name).item.scrollIntoView({ block: "start" });
  }

  // No keys for what is more than one length, or what a newer plan asks for: it is typed.
  function typed(name) {
    dock.hidden = true;
    rows.get(name).input.setAttribute("inputmode", "text");
  }

  function close() {
    const { input } = rows.get(active);
    active = null;
    dock.hidden = true;
    input.scrollIntoView({ block: "center" });
    // Without the keys coming up again: they come with the first press or the next reading.
    quiet = true;
    input.focus({ preventScroll: true });
    quiet = false;
    for (const row of rows.values()) row.item.classList.remove("reading-active");
  }

  // For what the big keys don't have: 64ths, feet, millimetres on a job in inches.
  function typeLetters(name) {
    const { input } = rows.get(name);
    input.setAttribute("inputmode", "text");
    input.focus();
  }

  names.forEach(add);
  mark();
  const more = moreMeasures(t, names, (name) => {
    names.push(name);
    add(name);
    open(name);
  });
  const escape = { keydown: (event) => event.key === "Escape" && active && close() };
  dock.addEventListener("keydown", escape.keydown);
  const part = h("section", { class: "part", on: escape }, h("h2", {}, t("readings")), h("p", { class: "hint" }, t("readings_side")), list, more);
  return { part, dock };
}

function nameOf(name, t) {
  return t.has(`m_${name}`) ? t(`m_${name}`) : name.replaceAll("_", " ");
}

function moreMeasures(t, names, onChosen) {
  const choice = h("select", { class: "choice", "aria-label": t("readings_more"), on: { change: () => chosen() } });
  const draw = () => fill(choice, h("option", { value: "" }, t("readings_more")),
    Object.keys(MEASURES).filter((name) => !names.includes(name)).map((name) => h("option", { value: name }, t(`m_${name}`))));
  const chosen = () => {
    if (choice.value) onChosen(choice.value);
    draw();
  };
  draw();
  return choice;
}

// Sign and words, so that no one has to tell two colours apart in the sun.
function markOf(name, verdict, units, t) {
  if (name in verdict.unreadable) return h("span", { class: "out" }, "✗ ", t(`length_${verdict.unreadable[name]}`));
  const suspect = verdict.contradictions.find((each) => each.reading === name);
  if (suspect) {
    const said = formatLength(suspect.othersSay, units);
    return h("span", { class: "out" }, "≠ ", t("disagrees", { said }));
  }
  const item = verdict.items.find((each) => each.name === name && !each.derived);
  if (!item) return null;
  if (item.margin === 0) return h("span", { class: "in" }, "✓ ", t("at_limit"));
  const length = formatLength(Math.abs(item.margin), units, { denominator: 64 });
  return item.verdict === "pass"
    ? h("span", { class: "in" }, "✓ ", t("to_spare", { length }))
    : h("span", { class: "out" }, "✗ ", t("out_by", { length }));
}

// From the pull side the hinges of RH and LHR stand on the left (SDI 111 and BHMA name the hand from outside).
function hingesLeft(hand) {
  return hand !== "LH" && hand !== "RHR";
}
