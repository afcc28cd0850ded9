// The page itself: opens the phone's memory and ties its parts together.

import { fill, h } from "./dom.js";
import { LANGUAGES, speaker } from "./language.js";
import { title } from "./parts.js";
import { openPhone, readRecords } from "./phone.js";
import { Sheet } from "./sheet.js";
import { keepShell } from "./shell.js";
import { openStore } from "./store.js";
import { Syncing } from "./syncing.js";

const app = document.getElementById("app");

async function start() {
  let db;
  try {
    db = await openStore(() => location.reload());
  } catch {
    const words = Object.keys(LANGUAGES).map((lang) => h("p", { lang }, speaker(lang)("keeps_nothing")));
    fill(app, h("main", {}, title("Sitetrack"), words));
    return;
  }
  const phone = await openPhone(db, document.body.dataset.api);
  const sheet = new Sheet(phone, app, document.getElementById("said"));
  phone.say = (words, isTrouble) => sheet.say(words, isTrouble);
  phone.go = (place) => {
    if (location.hash === place) sheet.draw();
    else location.hash = place;
  };
  phone.redraw = () => sheet.draw();
  phone.changed = tellingOtherTabs(() => sheet.refresh());
  phone.syncing = new Syncing(phone, noticing(phone, sheet));
  addEventListener("hashchange", () => sheet.draw());
  keepShell(document.body.dataset.worker, (useNow) => sheet.offer(useNow)).catch(() => {});
  await sheet.draw();
  await phone.syncing.start();
}

// What one tab reports or pulls, the others show.
function tellingOtherTabs(refresh) {
  const channel = "BroadcastChannel" in window ? new BroadcastChannel("sitetrack") : null;
  channel?.addEventListener("message", refresh);
  return () => {
    refresh();
    channel?.postMessage("changed");
  };
}

function noticing(phone, sheet) {
  let wasBusy = false;
  return async (state) => {
    document.body.toggleAttribute("data-busy", state.busy);
    const hasDone = wasBusy && !state.busy;
    wasBusy = state.busy;
    if (hasDone) {
      await readRecords(phone);
      phone.changed();
    }
    sheet.drawAround();
  };
}

start();
