// Addresses within the page, as routes.js reads them.

/** The place of an opening, of a check-in at one of its stages, or of another act there: cannot, note, sign. */
export function openingPlace(number, stage = "", act = "") {
  return ["#/opening", ...[number, stage, act].filter(Boolean).map(encodeURIComponent)].join("/");
}
