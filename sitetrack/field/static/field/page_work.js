// My work: what this person may take in hand now, floor by floor, in walking order.

import { h } from "./dom.js";
import { sizeText } from "./opening_facts.js";
import { hint, joined, title } from "./parts.js";
import { floorName, stagesOf, whoOf } from "./phone.js";
import { openingPlace } from "./places.js";
import { freshItems, itemsOf } from "./queue.js";
import { openingOf, openingsWithWork, workCounts } from "./records.js";
import { mineToDo, standingOf, wantedStages } from "./standing.js";
import { getSetting, putSetting } from "./store.js";
import { walkingOrder } from "./walking.js";

const MOST_SHOWN = 200;

/** @param {object} phone */
export async function workPage(phone) {
  const { t, db } = phone;
  if (!phone.site) return h("div", {}, title(t("work_title")), h("p", {}, t("first_load")));
  const wanted = wantedStages([...phone.plans.values()], whoOf(phone));
  const counts = await workCounts(db, phone.floors.map((floor) => floor.id), wanted);
  const floor = await chosenFloor(phone, counts);
  const found = await workOf(phone, floor, wanted);
  return h("div", {},
    title(t("work_title")),
    floorChoice(phone, counts, floor),
    found.length
      ? workList(phone, found)
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
  const choose = async () => {
    await putSetting(phone.db, "floor", choice.value);
    phone.redraw();
  };
  const option = ({ id }) =>
    h("option", { value: id, selected: id === chosen }, `${floorName(phone, id)} (${counts.get(id) ?? 0})`);
  const choice = h("select", { id: "floor", class: "choice", on: { change: choose } }, phone.floors.map(option));
  return h("p", { class: "pick" }, h("label", { for: "floor" }, phone.t("floor")), choice);
}

// Where everything on the floor waits for the same, it is said once above the list.
function workList(phone, found) {
  const { t } = phone;
  const shown = found.slice(0, MOST_SHOWN);
  const whats = new Set(shown.map((opening) => whatOf(phone, opening)));
  return [
    hint(t.many("work_count", found.length)),
    whats.size === 1 && h("h2", { class: "work-all" }, [...whats][0]),
    h("ol", { class: "work" }, shown.map((opening) => workRow(phone, opening, whats.size > 1))),
  ];
}

function whatOf(phone, { mine: [first] }) {
  const { t } = phone;
  const title = t.of(first.stage.title);
  if (first.awaitsSignature) return t("to_sign", { stage: title });
  return first.state === "underway" ? `${title} (${t("state_underway")})` : title;
}

function workRow(phone, opening, saysWhat) {
  const { t } = phone;
  const others = opening.mine.length - 1;
  const size = sizeText(opening, phone.site.units);
  return h("li", {},
    h("a", { class: "work-row", href: openingPlace(opening.number) },
      h("span", { class: "number" }, opening.number),
      saysWhat && h("span", {}, whatOf(phone, opening)),
      h("span", { class: "hint work-size" },
        joined([size, opening.attributes?.hand, others > 0 && t("and_more", { n: others })]))));
}
