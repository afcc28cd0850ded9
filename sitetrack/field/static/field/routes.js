// Places in the page, as they stand after the #:
//
//   #code=ABC                                 enrol with this code
//   #/                                        my work
//   #/find  #/waiting  #/phone  #/enrol
//   #/opening/<number>[/<stage>[/<act>]]      one opening; a check-in; cannot, note or sign
//   #/site/<site code>/opening/<number>       the same from a label, which says what site it hangs on

import { checkInPage } from "./page_check_in.js";
import { cannotPage, notePage } from "./page_cannot.js";
import { enrolPage } from "./page_enrol.js";
import { findPage } from "./page_find.js";
import { openingPage } from "./page_opening.js";
import { phonePage } from "./page_phone.js";
import { signPage } from "./page_sign.js";
import { waitingPage } from "./page_waiting.js";
import { workPage } from "./page_work.js";

// `live` pages are drawn anew when something changed; one with a half-made report in it never is.
const WORK = { sheet: "P-1", name: "way_work", way: "#/", page: workPage, live: true };
const FIND = { sheet: "P-2", name: "way_find", way: "#/find", page: findPage };
const OPENING = { sheet: "P-3", name: "opening", page: openingPage, live: true };
const CHECK_IN = { sheet: "P-4", name: "check_in", page: checkInPage };
const CANNOT = { ...CHECK_IN, page: cannotPage };
const NOTE = { ...CHECK_IN, page: notePage };
const SIGN = { sheet: "P-5", name: "sign", page: signPage };
const WAITING = { sheet: "P-6", name: "way_waiting", way: "#/waiting", page: waitingPage, live: true };
const PHONE = { sheet: "P-7", name: "way_phone", way: "#/phone", page: phonePage };
const ENROL = { sheet: "P-0", name: "enrol", page: enrolPage };

const ACTS = { cannot: CANNOT, note: NOTE, sign: SIGN };

/** The place a hash names, with what it says of it. */
export function routeOf(hash, phone) {
  if (hash.startsWith("#code=")) return { ...ENROL, params: { code: decoded(hash.slice("#code=".length)) } };
  const parts = hash.replace(/^#\/?/, "").split("/").filter(Boolean).map(decoded);
  if (parts[0] === "enrol" || !phone.enrolment) return { ...ENROL, params: {} };
  if (parts[0] === "site" && parts[2] === "opening") return openingPlace(parts.slice(3), parts[1]);
  if (parts[0] === "opening") return openingPlace(parts.slice(1));
  return { ...({ find: FIND, waiting: WAITING, phone: PHONE }[parts[0]] ?? WORK), params: {} };
}

function openingPlace([number = "", stage, act], site) {
  if (!stage) return { ...OPENING, params: { number, site } };
  return { ...(ACTS[act] ?? CHECK_IN), params: { number, stage } };
}

function decoded(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
