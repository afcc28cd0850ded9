// Picking openings on a floor: a box dragged around marks, a press with Shift, the space bar; in the list, boxes to tick.
// What is picked are form fields like the list's own, so that the server is told in one way.

const SVG = "http://www.w3.org/2000/svg";

let form = null;
find();
document.body.addEventListener("htmx:afterSwap", find); // a live page drew the floor anew: its marks are others

function find() {
  const there = document.querySelector("[data-pick]");
  if (there && there !== form) begin(there);
  form = there;
}

function begin(form) {
  const marks = [...form.querySelectorAll(".plan a, .elevation a")];
  const boxes = [...form.querySelectorAll("input[name=o]")];
  const numberOf = (mark) => mark.querySelector(".plan-number, .elevation-number").textContent;
  const picked = new Map(); // mark → the field that tells it
  const said = form.querySelector("[data-pick-said]");

  function tell() {
    const n = boxes.length ? boxes.filter((box) => box.checked).length : picked.size;
    form.toggleAttribute("data-in-hand", n > 0); // live.js leaves alone what someone has in hand
    said.textContent = n ? `${n} ${said.dataset.word}` : "";
  }

  function set(mark, on) {
    if (on === picked.has(mark)) return;
    mark.classList.toggle("picked", on);
    if (on) {
      const field = Object.assign(document.createElement("input"), { type: "hidden", name: "o", value: numberOf(mark) });
      form.append(field);
      picked.set(mark, field);
      mark.setAttribute("aria-label", `${numberOf(mark)}, ${said.dataset.word}; ${mark.querySelector("svg").getAttribute("aria-label")}`);
    } else {
      picked.get(mark).remove();
      picked.delete(mark);
      mark.removeAttribute("aria-label");
    }
  }

  function all(on) {
    for (const mark of marks) set(mark, on);
    for (const box of boxes) box.checked = on;
    tell();
  }

  for (const [name, on] of [["all", true], ["none", false]]) {
    const button = form.querySelector(`[data-pick-${name}]`);
    button.hidden = false;
    button.addEventListener("click", () => all(on));
  }
  for (const how of form.querySelectorAll("[data-pick-how]")) how.hidden = false;

  form.addEventListener("click", (event) => {
    const mark = event.target.closest(".plan a, .elevation a");
    if (!mark || !(event.shiftKey || event.ctrlKey || event.metaKey)) return;
    event.preventDefault();
    set(mark, !picked.has(mark));
    tell();
  });
  form.addEventListener("keydown", (event) => {
    const mark = event.target.closest?.(".plan a, .elevation a");
    if (event.key === " " && mark) {
      event.preventDefault();
      set(mark, !picked.has(mark));
      tell();
    } else if (event.key === "Escape" && picked.size) all(false);
  });

  let last = null;
  for (const box of boxes) {
    box.addEventListener("click", (event) => {
      if (event.shiftKey && last) {
        const [from, to] = [boxes.indexOf(last), boxes.indexOf(box)].sort((a, b) => a - b);
        for (const between of boxes.slice(from, to + 1)) between.checked = box.checked;
      }
      last = box;
      tell();
    });
  }
  for (const sheet of form.querySelectorAll(".plan-sheet")) boxes.length || dragBox(sheet);

  // A box dragged from a free spot of the plan picks every mark it touches.
  function dragBox(sheet) {
    const here = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(sheet.getScreenCTM().inverse());
    const places = () =>
      marks.filter((mark) => sheet.contains(mark)).map((mark) => [mark, mark.transform.baseVal.consolidate().matrix]);
    sheet.addEventListener("dragstart", (event) => event.preventDefault());
    sheet.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || event.pointerType === "touch" || event.target.closest("a")) return;
      const from = here(event);
      const box = document.createElementNS(SVG, "rect");
      box.setAttribute("class", "pick-box");
      const where = places();
      const already = new Set(picked.keys());
      sheet.append(box);
      sheet.setPointerCapture(event.pointerId);
      const go = (at) => {
        const to = here(at);
        const [x, y] = [Math.min(from.x, to.x), Math.min(from.y, to.y)];
        const [width, height] = [Math.abs(from.x - to.x), Math.abs(from.y - to.y)];
        for (const [name, value] of Object.entries({ x, y, width, height })) box.setAttribute(name, value);
        for (const [mark, { e, f }] of where) {
          const touched = e + 48 >= x && e <= x + width && f + 74 >= y && f <= y + height;
          set(mark, touched || already.has(mark));
        }
      };
      const end = () => {
        sheet.removeEventListener("pointermove", go);
        sheet.removeEventListener("pointerup", end);
        sheet.removeEventListener("pointercancel", end);
        box.remove();
        tell();
      };
      sheet.addEventListener("pointermove", go);
      sheet.addEventListener("pointerup", end);
      sheet.addEventListener("pointercancel", end);
    });
  }
}
