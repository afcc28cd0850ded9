// The page itself: opens the phone's memory, shows the place named after the #, and keeps the sheet around it true.

import { button, fill, h } from "./dom.js";
import { openPhone, readRecords } from "./phone.js";
import { countWaiting } from "./queue.js";
import { keepPlace } from "./redrawing.js";
import { routeOf } from "./routes.js";
import { keepShell } from "./shell.js";
import { openStore } from "./store.js";
import { makeSyncing } from "./syncing.js";

const app = document.getElementById("app");
const spoken = document.getElementById("said");
const channel = "BroadcastChannel" in window ? new BroadcastChannel("sitetrack") : null;

async function start() {
  let db;
  try {
    db = await openStore(() => location.reload());
  } catch {
    fill(app, h("main", {}, h("h1", {}, "Sitetrack"),
      h("p", {}, "This window keeps nothing on the phone. Leave private browsing and open it again."),
      h("p", { lang: "es" }, "Esta ventana no guarda nada en el teléfono. Salga de la navegación privada y ábrala de nuevo.")));
    return;
  }
  const phone = await openPhone(db, document.body.dataset.api);
  const sheet = makeSheet(phone);
  phone.say = sheet.say;
  phone.go = (place) => (location.hash === place ? sheet.draw() : (location.hash = place));
  phone.redraw = () => sheet.draw();
  phone.changed = () => {
    sheet.drawAround();
    if (sheet.isLive()) sheet.draw({ quietly: true });
    channel?.postMessage("changed");
  };
  let wasBusy = false;
  phone.syncing = makeSyncing(phone, async (state) => {
    document.body.toggleAttribute("data-busy", state.busy);
    if (wasBusy && !state.busy) {
      await readRecords(phone);
      phone.changed();
    }
    wasBusy = state.busy;
    sheet.drawAround();
  });
  channel?.addEventListener("message", () => {
    sheet.drawAround();
    if (sheet.isLive()) sheet.draw({ quietly: true });
  });
  addEventListener("hashchange", () => sheet.draw());
  keepShell(document.body.dataset.worker, (useNow) => sheet.offer(useNow)).catch(() => {});
  await sheet.draw();
  await phone.syncing.start();
}

function makeSheet(phone) {
  const header = h("header", { class: "title-block" });
  const notices = h("section", { class: "notices" });
  const main = h("main", { id: "main" });
  const nav = h("nav", { class: "ways" });
  let route = null;
  let drawing = 0;
  let useNewer = null;
  // Set by going somewhere until that place is drawn, also when a quiet drawing has overtaken it.
  let arriving = false;
  fill(app, header, notices, main, nav);

  async function draw({ quietly = false } = {}) {
    // A code or a note half typed is worth more than a list a second newer.
    if (quietly && main.contains(document.activeElement) && document.activeElement.value) return;
    if (!quietly) arriving = true;
    drawing += 1;
    const mine = drawing;
    route = routeOf(location.hash, phone);
    const content = await route.page(phone, route.params).catch((error) => failed(phone, error));
    // Something newer has been asked for meanwhile.
    if (mine !== drawing) return;
    document.documentElement.lang = phone.t.language;
    if (!arriving) keepPlace(main, () => fill(main, content));
    else {
      arriving = false;
      fill(main, content);
      window.scrollTo(0, 0);
      main.querySelector("h1")?.focus({ preventScroll: true });
    }
    document.title = `${main.querySelector("h1")?.textContent ?? ""} · Sitetrack`;
    await drawAround();
  }

  async function drawAround() {
    const { t } = phone;
    const waiting = await countWaiting(phone.db);
    const { state } = phone.syncing ?? { state: { how: "ok", busy: false } };
    fill(header,
      h("span", { class: "tb-site" }, phone.site?.name ?? "Sitetrack"),
      h("span", { class: "tb-sheet" }, h("b", {}, route?.sheet ?? ""), " ", route ? t(route.name) : ""),
      h("a", { class: `tb-send${waiting ? " tb-unsent" : ""}`, href: "#/waiting" },
        state.busy ? t("sending") : waiting ? t.many("waiting", waiting) : t("all_sent")));
    fill(notices, noticesOf(phone, state, useNewer));
    notices.setAttribute("aria-label", t("notices"));
    fill(nav, waysOf(phone, waiting, route));
    nav.setAttribute("aria-label", t("ways"));
  }

  return {
    draw,
    drawAround,
    isLive: () => Boolean(route?.live),
    say(words, isTrouble = false) {
      spoken.className = `said${isTrouble ? " said-trouble" : ""} said-now`;
      spoken.textContent = words;
      clearTimeout(spoken.timer);
      spoken.timer = setTimeout(() => spoken.classList.remove("said-now"), isTrouble ? 15_000 : 4_000);
    },
    offer(useNow) {
      useNewer = useNow;
      drawAround();
    },
  };
}

// Better a page that says what is wrong than a blank one in a stairwell.
function failed(phone, error) {
  console.error(error);
  return h("div", {}, h("h1", { tabindex: -1 }, phone.t("opening")),
    h("p", { class: "problem" }, phone.t("page_failed", { why: String(error?.message ?? error) })));
}

function noticesOf(phone, state, useNewer) {
  const { t } = phone;
  const told = state.problem?.detail ? ` ${state.problem.detail}` : "";
  return [
    useNewer && h("p", { class: "notice" }, t("newer"), " ", button(t("newer_use"), useNewer, { class: "key" })),
    state.how === "enrol" && h("p", { class: "notice" }, t("token_gone"), " ", h("a", { class: "key", href: "#/enrol" }, t("enrol_go"))),
    state.how === "update" && h("p", { class: "notice" }, t("too_old")),
    state.how === "forbidden" && h("p", { class: "notice" }, t("forbidden"), told),
    state.how === "wait" && h("p", { class: "notice" }, t("server_asks_wait")),
    state.how === "away" && h("p", { class: "notice" }, t("server_away")),
    state.how === "no_signal" && h("p", { class: "notice notice-quiet" }, t("no_signal")),
    state.pulled > 0 && h("p", { class: "notice notice-quiet" }, t("loading", { n: state.pulled })),
  ].filter(Boolean);
}

function waysOf(phone, waiting, route) {
  if (!phone.enrolment) return [];
  const { t } = phone;
  const way = (place, words) => h("a", { href: place, class: "way", "aria-current": route?.way === place ? "page" : null }, words);
  return [way("#/", t("way_work")), way("#/find", t("way_find")), way("#/waiting", `${t("way_waiting")}${waiting ? ` (${waiting})` : ""}`), way("#/phone", t("way_phone"))];
}

start();
