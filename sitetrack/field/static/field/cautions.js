// What hurts people at a stage, said in a line where the work is done. The words are in the word lists, each with its
// source; local codes, the listing and licensed people decide. A stage is known by what it is marked to do, or else by
// its trade, never by its code: that is the site's own.

const BY_MARK = {
  stands_frame: ["lifting", "tipping", "edges", "shipping_bar", "pins", "dust", "rated", "label"],
  anchors_frame: ["wiring", "dust", "rated", "ladder"],
  proves_open_wall: ["ladder", "rated"],
  closes_wall: ["spreaders", "lifting", "wiring", "label"],
  proves_closed_wall: ["ladder", "rated"],
  hangs_leaf: ["lifting", "pinch", "wiring", "rated"],
  confirms_floor: [],
};
const BY_TRADE = {
  frame_crew: ["edges", "lifting"],
  framing: ["pins", "dust", "wiring", "edges"],
  mason: ["ladder", "rated"],
  electrician: ["wiring", "rated"],
  drywall: ["wiring"],
  painter: ["label"],
  door_hanger: ["lifting", "pinch", "wiring", "rated"],
};
const OF_A_CHECK = ["label"];
const OF_RATED_FRAMES = ["rated", "label"];

/** The cautions of a stage, by name; those of rated frames only where the opening is rated, or may be. */
export function cautionsFor(stage, opening) {
  const marked = Object.keys(BY_MARK).filter((mark) => stage.marks?.includes(mark));
  const names = marked.length ? marked.flatMap((mark) => BY_MARK[mark]) : unmarked(stage);
  const unrated = opening?.attributes?.rating_minutes === 0;
  return [...new Set(names)].filter((name) => !(unrated && OF_RATED_FRAMES.includes(name)));
}

function unmarked(stage) {
  return stage.kind === "check" ? OF_A_CHECK : BY_TRADE[stage.trade] ?? [];
}
