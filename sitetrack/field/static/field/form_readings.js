// Readings of a check, one measure after the other, each judged as its key is pressed.

import { bigKeys } from "./big_keys.js";
import { button, fill, h } from "./dom.js";
import { formatLength } from "./lengths.js";
import { limitLines } from "./limit_sources.js";
import { MEASURES } from "./measures.js";
import { hint, part } from "./parts.js";
import { sketch } from "./sketch.js";

/** The list of readings, and the keys docked under it at the thumb. */
export class ReadingsForm {
  dock = h("div", { class: "dock", hidden: true });
  #dockNow = h("p", { class: "dock-now" });
  #said = h("p", { class: "problem", role: "alert" });
  #rowList = h("ol", { class: "readings" });
  #limits = h("ul");
  #rows = new Map();
  #active = null;
  // The size of the reading at hand while nobody has said to which side it is.
  #openSide = "";
  // While focus is put back to a field whose keys have just been closed.
  #closing = false;
  #t;
  #units;
  #profile;
  #given;
  #taken;
  #names;

  /**
   * @param {object} phone
   * @param {object} given required (names), readings (as the draft has them), opening {width, height, hand},
   *   judged(readings): the preview verdict, onChange(readings)
   */
  constructor(phone, given) {
    this.#t = phone.t;
    this.#units = phone.profile?.units ?? phone.site?.units ?? "imperial";
    this.#profile = phone.profile;
    this.#given = given;
    this.#taken = { ...given.readings };
    const others = Object.keys(this.#taken).filter((name) => name in MEASURES && !given.required.includes(name));
    this.#names = [...given.required, ...others];
    for (const name of this.#names) this.#addRow(name);
    this.#mark();
    this.#nameLimits();
    const onKey = (event) => event.key === "Escape" && this.#active && this.#close();
    this.list = part(this.#t("readings"), hint(this.#t("readings_side")), this.#rowList, this.#moreMeasures(),
      h("details", { class: "limits-from" }, h("summary", {}, this.#t("limits_from")), this.#limits));
    this.list.addEventListener("keydown", onKey);
    this.dock.addEventListener("keydown", onKey);
  }

  #addRow(name) {
    const input = h("input", {
      id: `r-${name}`, class: "reading", type: "text", inputmode: "none", autocomplete: "off", spellcheck: "false",
      value: this.#taken[name] ?? "", maxlength: 40, "aria-describedby": `h-${name} v-${name}`,
      on: { focus: () => this.#closing || this.#open(name), input: () => this.#typed(name, input.value.trim()) },
    });
    const mark = h("span", { class: "mark", id: `v-${name}` });
    const open = () => this.#active !== name && this.#open(name);
    const item = h("li", { class: "reading-row", on: { click: open } },
      h("label", { for: `r-${name}` }, nameOf(name, this.#t)), input, mark);
    this.#rows.set(name, { input, mark, item });
    this.#rowList.append(item);
  }

  #nameLimits() {
    const lines = this.#profile ? limitLines(this.#names, this.#profile, this.#t) : [];
    fill(this.#limits, lines);
  }

  // What is typed says its side itself.
  #typed(name, text) {
    this.#setOpenSide("");
    this.#set(name, text);
  }

  #set(name, text) {
    if (text === "") delete this.#taken[name];
    else this.#taken[name] = text;
    this.#rows.get(name).input.value = text;
    this.#given.onChange({ ...this.#taken });
    this.#mark();
  }

  #mark() {
    const verdict = this.#given.judged(this.#taken);
    const markOfOne = (name) => markOf(name, verdict, this.#units, this.#t);
    for (const [name, row] of this.#rows) fill(row.mark, markOfOne(name));
    if (!this.#active) return;
    const half = this.#openSide && `± ${this.#openSide}`;
    const value = h("b", { class: "dock-value" }, half || this.#taken[this.#active] || "—");
    fill(this.#dockNow, value, half ? h("span", { class: "out" }, this.#t("side_open")) : markOfOne(this.#active));
  }

  /** Asks for the side of a reading that has none yet, and whether it did: half a reading is nothing to go on from. */
  asksForSide() {
    if (this.#openSide) fill(this.#said, this.#t("side_first"));
    return Boolean(this.#openSide);
  }

  #setOpenSide(size) {
    this.#openSide = size;
    fill(this.#said);
    this.#mark();
  }

  #open(name) {
    if (name !== this.#active && this.asksForSide()) {
      this.#focusQuietly(this.#rows.get(this.#active).input);
      return;
    }
    this.#active = name;
    for (const [each, row] of this.#rows) row.item.classList.toggle("reading-active", each === name);
    const isKeyed = name in MEASURES;
    this.dock.hidden = !isKeyed;
    // No keys for what is more than one length, or what a newer plan asks for: it is typed.
    if (isKeyed) this.#fillDock(name);
    else this.#rows.get(name).input.setAttribute("inputmode", "text");
    this.#rows.get(name).item.scrollIntoView({ block: "start" });
  }

  #fillDock(name) {
    const t = this.#t;
    const { opening } = this.#given;
    const next = this.#names[this.#names.indexOf(name) + 1];
    const clear = () => {
      this.#setOpenSide("");
      this.#set(name, "");
      this.#open(name);
    };
    const others = [
      button(t("keys_letters"), () => this.#typeLetters(name), { class: "key" }),
      button(t("keys_clear"), clear, { class: "key" }),
    ];
    const onText = (text) => this.#set(name, text);
    fill(this.dock,
      h("div", { class: "dock-head" },
        sketch(name, hingesLeft(opening?.hand)),
        this.#dockNow,
        h("p", { id: `h-${name}`, class: "dock-how" }, h("b", {}, t(`m_${name}`)), " ", t(`how_${name}`))),
      bigKeys({
        measure: name, text: this.#taken[name] ?? "", opening, units: this.#units, t, others, onText,
        onOpenSide: (size) => this.#setOpenSide(size),
      }),
      h("div", { class: "dock-end" }, this.#said, h("div", { class: "key-row" },
        button(t("keys_close"), () => this.#close(), { class: "key" }),
        next && button(t("keys_next"), () => this.#open(next), { class: "key key-go" }))));
    this.#mark();
  }

  #close() {
    if (this.asksForSide()) return;
    const { input, item } = this.#rows.get(this.#active);
    this.#active = null;
    this.dock.hidden = true;
    item.classList.remove("reading-active");
    input.scrollIntoView({ block: "center" });
    this.#focusQuietly(input);
  }

  #focusQuietly(input) {
    this.#closing = true;
    input.focus({ preventScroll: true });
    this.#closing = false;
  }

  // For what the big keys don't have: 64ths, feet, millimetres on a job in inches.
  #typeLetters(name) {
    const { input } = this.#rows.get(name);
    input.setAttribute("inputmode", "text");
    input.focus();
  }

  #moreMeasures() {
    const t = this.#t;
    const choice = h("select", { class: "choice", "aria-label": t("readings_more"), on: { change: () => add() } });
    const option = (name) => h("option", { value: name }, t(`m_${name}`));
    const left = () => Object.keys(MEASURES).filter((name) => !this.#names.includes(name));
    const draw = () => fill(choice, h("option", { value: "" }, t("readings_more")), left().map(option));
    const add = () => {
      const name = choice.value;
      this.#names.push(name);
      this.#addRow(name);
      this.#nameLimits();
      draw();
      this.#open(name);
    };
    draw();
    return choice;
  }
}

function nameOf(name, t) {
  return t.has(`m_${name}`) ? t(`m_${name}`) : name.replaceAll("_", " ");
}

// Sign and words, so that no one has to tell two colours apart in the sun.
function markOf(name, verdict, units, t) {
  const out = (...words) => h("span", { class: "out" }, words);
  const within = (...words) => h("span", { class: "in" }, words);
  if (name in verdict.unreadable) return out("✗ ", t(`length_${verdict.unreadable[name]}`));
  const suspect = verdict.contradictions.find((each) => each.reading === name);
  if (suspect) return out("≠ ", t("disagrees", { said: formatLength(suspect.othersSay, units) }));
  const item = verdict.items.find((each) => each.name === name && !each.derived);
  if (!item) return null;
  if (item.margin === 0) return within("✓ ", t("at_limit"));
  const length = formatLength(Math.abs(item.margin), units, { denominator: 64 });
  return item.verdict === "pass" ? within("✓ ", t("to_spare", { length })) : out("✗ ", t("out_by", { length }));
}

// From the pull side the hinges of RH and LHR stand on the left (SDI 111 and BHMA name the hand from outside).
function hingesLeft(hand) {
  return hand !== "LH" && hand !== "RHR";
}
