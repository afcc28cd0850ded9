// Where a measure is taken, drawn so that it needs no words: the frame from the side it is read on, the measure in
// heavy line. Across the wall the jamb is drawn from its edge, along the floor from above.

import { s } from "./dom.js";

const LEFT = 34;
const RIGHT = 86;
const TOP = 14;
const FLOOR = 88;

/**
 * @param {string} measure
 * @param {boolean} hingesLeft seen from the side the frame is read on
 */
export function sketch(measure, hingesLeft = true) {
  const draw = DRAWN[measure];
  if (!draw) return null;
  const mirror = hingesLeft ? {} : { transform: "translate(120 0) scale(-1 1)" };
  const sheet = { class: "sketch", viewBox: "0 0 120 100", "aria-hidden": "true", focusable: "false" };
  return s("svg", sheet, s("g", mirror, draw()));
}

const line = (d, kind) => s("path", { d, class: kind });
const heavy = (x1, y1, x2, y2) => [
  line(`M${x1} ${y1}L${x2} ${y2}`, "sk-read"),
  s("circle", { cx: x1, cy: y1, r: 2.4, class: "sk-end" }),
  s("circle", { cx: x2, cy: y2, r: 2.4, class: "sk-end" }),
];

function elevation(...marks) {
  return [
    line(`M${LEFT - 6} ${FLOOR}V${TOP - 6}H${RIGHT + 6}V${FLOOR}`, "sk-frame"),
    line(`M${LEFT} ${FLOOR}V${TOP}H${RIGHT}V${FLOOR}`, "sk-frame"),
    line("M12 88H108", "sk-floor"),
    hinges(LEFT - 3),
    line(`M${RIGHT + 3} 48V58`, "sk-strike"),
    marks,
  ];
}

function hinges(x) {
  return line(`M${x} 22V29M${x} 46V53M${x} 70V77`, "sk-hinge");
}

// A jamb seen from its edge, leaning off the dashed plumb line through its foot.
function leaning(mark) {
  return [
    line("M12 88H108M44 88V12", "sk-floor"),
    line("M76 88V12", "sk-floor"),
    line("M52 88L58 14H68L62 88Z", "sk-frame"),
    mark === "hinge"
      ? line("M62 24L61.4 31M60.6 44L60 51M58.6 68L58 75", "sk-hinge")
      : line("M61.5 42L60.7 52", "sk-strike"),
    line("M52 88V12", "sk-plumb"),
    heavy(52, 16, 58, 16),
  ];
}

function fromAbove(second) {
  return [
    line("M8 36H24V64H8M112 36H96V64H112", "sk-floor"),
    line("M24 36H36V64H24Z", "sk-frame"),
    line("M36 41H40", "sk-hinge"),
    second,
  ];
}

function hung(...mark) {
  return [elevation(), line(`M${LEFT + 4} ${FLOOR - 5}V${TOP + 4}H${RIGHT - 4}V${FLOOR - 5}Z`, "sk-leaf"), mark];
}

function plumbBeside(x, top) {
  return elevation(line(`M${x} ${FLOOR}V${TOP - 4}`, "sk-plumb"), heavy(x, TOP + 2, top, TOP + 2));
}

const DRAWN = {
  width_head: () => elevation(heavy(LEFT, 20, RIGHT, 20)),
  width_mid: () => elevation(heavy(LEFT, 50, RIGHT, 50)),
  width_floor: () => elevation(heavy(LEFT, 84, RIGHT, 84)),
  clear_width: () => elevation(heavy(LEFT + 5, 56, RIGHT, 56)),
  diagonal_hinge_foot: () => elevation(heavy(LEFT, FLOOR, RIGHT, TOP)),
  diagonal_strike_foot: () => elevation(heavy(RIGHT, FLOOR, LEFT, TOP)),
  hinge_plumb_side: () => plumbBeside(LEFT - 14, LEFT - 6),
  strike_plumb_side: () => plumbBeside(RIGHT + 14, RIGHT + 6),
  hinge_plumb_face: () => leaning("hinge"),
  strike_plumb_face: () => leaning("strike"),
  head_level: () => elevation(
    line(`M${LEFT - 10} ${TOP - 11}H${RIGHT + 10}`, "sk-plumb"),
    heavy(RIGHT + 6, TOP - 11, RIGHT + 6, TOP - 6),
  ),
  squareness: () => elevation(
    line(`M${LEFT} ${TOP + 10}H${LEFT + 10}V${TOP}`, "sk-plumb"),
    line(`M${LEFT} ${TOP}L${RIGHT} ${TOP + 9}`, "sk-plumb"),
    heavy(RIGHT, TOP, RIGHT, TOP + 9),
  ),
  alignment: () => fromAbove([
    line("M84 28H96V56H84Z", "sk-frame"),
    line("M36 64H100", "sk-plumb"),
    heavy(90, 56, 90, 64),
  ]),
  twist: () => fromAbove([
    line("M82 40L93 35L104 61L93 66Z", "sk-frame"),
    line("M84 64V36", "sk-plumb"),
    line("M76 30A24 24 0 0 1 94 26", "sk-read"),
  ]),
  foot_gap_hinge: () => elevation(line("M12 94H108", "sk-floor"), heavy(LEFT - 3, FLOOR, LEFT - 3, 95)),
  foot_gap_strike: () => elevation(line("M12 94H108", "sk-floor"), heavy(RIGHT + 3, FLOOR, RIGHT + 3, 95)),
  gap_head_hinge: () => hung(heavy(LEFT + 10, TOP, LEFT + 10, TOP + 4)),
  gap_head_strike: () => hung(heavy(RIGHT - 10, TOP, RIGHT - 10, TOP + 4)),
  gap_hinge: () => hung(heavy(LEFT, 38, LEFT + 4, 38)),
  gap_strike_head: () => hung(heavy(RIGHT - 4, 24, RIGHT, 24)),
  gap_strike_mid: () => hung(heavy(RIGHT - 4, 44, RIGHT, 44)),
  gap_strike_floor: () => hung(heavy(RIGHT - 4, 78, RIGHT, 78)),
  gap_meeting: () => hung(line(`M60 ${TOP + 4}V${FLOOR - 5}`, "sk-leaf"), heavy(58, 50, 63, 50)),
  gap_floor: () => hung(heavy(60, FLOOR - 5, 60, FLOOR)),
};
