// The sheet around every page: title block, notices, ways; and the drawing of the place named after the #.

import { button, fill, h } from "./dom.js";
import { joined, problem, title } from "./parts.js";
import { countRefused, countWaiting } from "./queue.js";
import { keepPlace } from "./redrawing.js";
import { routeOf } from "./routes.js";

const SAID_MS = 4_000;
const TROUBLE_SAID_MS = 15_000;

export class Sheet {
  #phone;
  #spoken;
  #header = h("header", { class: "title-block" });
  #notices = h("section", { class: "notices" });
  #main = h("main", { id: "main" });
  #ways = h("nav", { class: "ways" });
  #route = null;
  #drawing = 0;
  // Set by going somewhere until that place is drawn, also when a quiet drawing has overtaken it.
  #arriving = false;
  #useNewer = null;
  #silence = 0;

  constructor(phone, app, spoken) {
    this.#phone = phone;
    this.#spoken = spoken;
    fill(app, this.#header, this.#notices, this.#main, this.#ways);
  }

  /** Draws the place named after the #, and takes the reader to it. */
  draw() {
    this.#arriving = true;
    return this.#drawPage();
  }

  /** Draws what may have changed, with the reader left where they are; never a page with a half-made report. */
  async refresh() {
    const focused = document.activeElement;
    // A code or a note half typed is worth more than a list a second newer.
    const isTyping = this.#main.contains(focused) && Boolean(focused.value);
    if (this.#route?.live && !isTyping) await this.#drawPage();
    else await this.drawAround();
  }

  async #drawPage() {
    this.#drawing += 1;
    const mine = this.#drawing;
    const phone = this.#phone;
    this.#route = routeOf(location.hash, phone);
    const content = await this.#route.page(phone, this.#route.params).catch((error) => failed(phone, error));
    // Something newer has been asked for meanwhile.
    if (mine !== this.#drawing) return;
    document.documentElement.lang = phone.t.language;
    if (this.#arriving) this.#arrive(content);
    else keepPlace(this.#main, () => fill(this.#main, content));
    document.title = `${this.#main.querySelector("h1")?.textContent ?? ""} · Sitetrack`;
    await this.drawAround();
  }

  #arrive(content) {
    this.#arriving = false;
    fill(this.#main, content);
    window.scrollTo(0, 0);
    this.#main.querySelector("h1")?.focus({ preventScroll: true });
  }

  /** Draws the title block, the notices and the ways. */
  async drawAround() {
    const phone = this.#phone;
    const { t } = phone;
    const counts = { waiting: await countWaiting(phone.db), refused: await countRefused(phone.db) };
    const state = phone.syncing?.state ?? { how: "ok", busy: false };
    fill(this.#header, titleBlock(phone, this.#route, state, counts));
    fill(this.#notices, noticesOf(t, state, this.#useNewer));
    fill(this.#ways, phone.enrolment ? waysOf(t, counts, this.#route) : []);
    this.#notices.setAttribute("aria-label", t("notices"));
    this.#ways.setAttribute("aria-label", t("ways"));
  }

  /** Says a line over the page, to eye and ear; trouble stays longer. */
  say(words, isTrouble = false) {
    this.#spoken.className = `said said-now${isTrouble ? " said-trouble" : ""}`;
    this.#spoken.textContent = words;
    clearTimeout(this.#silence);
    this.#silence = setTimeout(() => this.#spoken.classList.remove("said-now"), isTrouble ? TROUBLE_SAID_MS : SAID_MS);
  }

  /** Offers a newer shell. */
  offer(useNow) {
    this.#useNewer = useNow;
    this.drawAround();
  }
}

// Better a page that says what is wrong than a blank one in a stairwell.
function failed(phone, error) {
  console.error(error);
  return h("div", {}, title("Sitetrack"), problem(phone.t("page_failed", { why: String(error?.message ?? error) })));
}

function titleBlock({ t, site }, route, state, { waiting, refused }) {
  // A refused report was sent, but the work it tells of stands nowhere: not all is well.
  const sent = waiting ? t.many("waiting", waiting) : !refused && t("all_sent");
  const look = refused ? " tb-refused" : waiting ? " tb-unsent" : "";
  return [
    h("span", { class: "tb-site" }, site?.name ?? "Sitetrack"),
    h("span", { class: "tb-sheet" }, h("b", {}, route?.sheet ?? ""), " ", route ? t(route.name) : ""),
    h("a", { class: `tb-send${look}`, href: "#/waiting" },
      h("span", {}, joined([state.busy ? t("sending") : sent, refused > 0 && `✗ ${t.many("refused", refused)}`]))),
  ];
}

function noticesOf(t, state, useNewer) {
  const told = state.problem?.detail ? ` ${state.problem.detail}` : "";
  const notice = (...words) => h("p", { class: "notice" }, words);
  const quiet = (...words) => h("p", { class: "notice notice-quiet" }, words);
  return [
    useNewer && notice(t("newer"), " ", button(t("newer_use"), useNewer, { class: "key" })),
    state.how === "enrol" && notice(t("token_gone"), " ", h("a", { class: "key", href: "#/enrol" }, t("enrol_go"))),
    state.how === "update" && notice(t("too_old")),
    state.how === "forbidden" && notice(t("forbidden"), told),
    state.how === "wait" && notice(t("server_asks_wait")),
    state.how === "away" && notice(t("server_away")),
    state.how === "no_signal" && quiet(t("no_signal")),
    state.pulled > 0 && quiet(t("loading", { n: state.pulled })),
  ];
}

function waysOf(t, { waiting, refused }, route) {
  const way = (place, ...words) =>
    h("a", { href: place, class: "way", "aria-current": route?.way === place ? "page" : null }, words);
  const unsent = waiting ? ` (${waiting})` : "";
  return [
    way("#/", t("way_work")),
    way("#/find", t("way_find")),
    way("#/waiting", t("way_waiting") + unsent,
      refused > 0 && h("span", { class: "way-refused" }, t.many("refused", refused))),
    way("#/phone", t("way_phone")),
  ];
}
