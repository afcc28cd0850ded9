// A drawing that can be made larger and smaller; what stands on it keeps its size (see .keeps-size).

const STEP = 1.5;
const MOST = 8;

/** @param {SVGSVGElement} sheet @param {HTMLElement} tools */
export function zoomable(sheet, tools) {
  let zoom = 1;
  const room = sheet.parentElement;
  const to = (next) => {
    const middle = (room.scrollLeft + room.clientWidth / 2) / room.scrollWidth;
    const down = (room.scrollTop + room.clientHeight / 2) / room.scrollHeight;
    zoom = Math.min(MOST, Math.max(1, next));
    sheet.style.setProperty("width", `${zoom * 100}%`);
    sheet.style.setProperty("--zoom", String(zoom));
    room.scrollLeft = middle * room.scrollWidth - room.clientWidth / 2;
    room.scrollTop = down * room.scrollHeight - room.clientHeight / 2;
  };
  tools.hidden = false;
  tools.querySelector("[data-larger]").addEventListener("click", () => to(zoom * STEP));
  tools.querySelector("[data-smaller]").addEventListener("click", () => to(zoom / STEP));
}

/** Where a press on the drawing lies, in the drawing's own units. */
export function spotOf(sheet, event) {
  return new DOMPoint(event.clientX, event.clientY).matrixTransform(sheet.getScreenCTM().inverse());
}
