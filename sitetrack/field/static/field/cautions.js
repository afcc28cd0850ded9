// What hurts people at each stage, said in a line where the work is done. The words are in the word lists, each with
// its source; local codes, the listing and licensed people decide.

const BY_STAGE = {
  receive: ["edges", "lifting"],
  match: ["edges", "label"],
  assemble: ["edges"],
  set: ["lifting", "tipping", "shipping_bar", "pins", "dust"],
  roughin: ["wiring"],
  stud: ["wiring", "edges"],
  anchor: ["wiring", "rated", "ladder"],
  trueness: ["ladder", "rated"],
  board: ["spreaders", "lifting", "wiring"],
  fix: ["wiring"],
  finish: ["label"],
  hang: ["lifting", "pinch", "rated"],
  final: ["pinch", "rated"],
};

/** The cautions of a stage, by name; those of the trade where a plan has a stage of its own. */
export function cautionsFor(stage) {
  const named = BY_STAGE[stage.code];
  if (named) return named;
  return stage.trade === "electrician" ? ["wiring"] : stage.trade === "door_hanger" ? ["lifting", "pinch"] : [];
}
