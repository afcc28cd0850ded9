// My work: what this person may take in hand now, floor by floor, in walking order.

import { h } from "./dom.js";
import { sizeText } from "./opening_facts.js";
import { floorName, stagesOf, whoOf } from "./phone.js";
import { freshItems, itemsOf } from "./queue.js";
import { openingOf, openingsWithWork, workCounts } from "./records.js";
import { mineToDo, standingOf, wantedStages } from "./standing.js";
import { getSetting, putSetting } from "./store.js";
import { walkingOrder } from "./walking.js";

const MOST_SHOWN = 200;

/** @param {object} phone */
export async function workPage(phone) {
  const { t, db } = phone;
  if (!phone.site) return h("div", {}, h("h1", { tabindex: -1 }, t("work_title")), h("p", {}, t("first_load")));
  const wanted = wantedStages([...phone.plans.values()], whoOf(phone));
  const counts = await workCounts(db, phone.floors.map((floor) => floor.id), wanted);
  const floor = await chosenFloor(phone, counts);
  const found = await workOf(phone, floor, wanted);
  return h("div", {},
    h("h1", { tabindex: -1 }, t("work_title")),
    floorChoice(phone, counts, floor),
    found.length
      ? [h("p", { class: "hint" }, t.many("work_count", found.length)),
         h("ol", { class: "work" }, found.slice(0, MOST_SHOWN).map((work) => workRow(phone, work)))]
      : h("p", { class: "empty" }, t(whoOf(phone).role === "viewer" ? "work_viewer" : "work_none")));
}

/** The openings of a floor that wait for this person, with what waits there, in walking order. */
async function workOf(phone, floor, wanted) {
  const { db } = phone;
  const fresh = (await freshItems(db)).filter((item) => item.state === "waiting" || item.state === "sent");
  const touched = await Promise.all([...new Set(fresh.map((item) => item.key))].map((number) => openingOf(db, number)));
  const waiting = await openingsWithWork(db, floor, wanted);
  const here = new Map(waiting.map((opening) => [opening.id, opening]));
  for (const opening of touched) if (opening?.floor === floor) here.set(opening.id, opening);
  const found = [];
  for (const opening of here.values()) {
    const items = fresh.filter((item) => item.key === opening.number.toUpperCase());
    const { lines } = standingOf(opening, stagesOf(phone, opening), items);
    const mine = mineToDo(lines, whoOf(phone));
    if (mine.length) found.push({ ...opening, mine });
  }
  return walkingOrder(found, await lastPlace(phone, floor));
}

// Where the hand was last: the opening of the newest report made on this phone, if it is on this floor.
async function lastPlace(phone, floor) {
  const number = await getSetting(phone.db, "last_opening");
  const last = number && (await openingOf(phone.db, number));
  if (last?.floor !== floor) return null;
  return (await itemsOf(phone.db, number)).length ? last : null;
}

async function chosenFloor(phone, counts) {
  const kept = await getSetting(phone.db, "floor");
  if (phone.floors.some((floor) => floor.id === kept)) return kept;
  const first = phone.floors.find((floor) => counts.get(floor.id)) ?? phone.floors[0];
  return first?.id ?? "";
}

function floorChoice(phone, counts, chosen) {
  const choice = h("select", {
    id: "floor", class: "choice",
    on: { change: async () => { await putSetting(phone.db, "floor", choice.value); phone.redraw(); } },
  }, phone.floors.map((floor) =>
    h("option", { value: floor.id, selected: floor.id === chosen }, `${floorName(phone, floor.id)} (${counts.get(floor.id) ?? 0})`)));
  return h("p", { class: "pick" }, h("label", { for: "floor" }, phone.t("floor")), choice);
}

function workRow(phone, opening) {
  const { t } = phone;
  const [first, ...others] = opening.mine;
  const to = `#/opening/${encodeURIComponent(opening.number)}`;
  const verb = first.awaitsSignature ? t("to_sign", { stage: t.of(first.stage.title) }) : t.of(first.stage.title);
  return h("li", {},
    h("a", { class: "work-row", href: to },
      h("span", { class: "number" }, opening.number),
      h("span", { class: "work-what" }, verb, first.state === "underway" && !first.awaitsSignature && ` (${t("state_underway")})`,
        others.length > 0 && h("span", { class: "hint" }, ` ${t("and_more", { n: others.length })}`)),
      h("span", { class: "hint work-size" }, [sizeText(opening, phone.site.units), opening.attributes?.hand].filter(Boolean).join(" "))));
}
