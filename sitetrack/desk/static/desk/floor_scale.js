// Two points pressed on the plan's picture go into the form; what is typed into the form moves the points.

import { spotOf, zoomable } from "./floor_zoom.js";

const sheet = document.querySelector("[data-scale]");
const form = document.querySelector("[data-scale-form]");
const line = sheet.querySelector("line");
let next = "first";

zoomable(sheet, document.querySelector("[data-zoom]"));

function draw() {
  for (const [name, end] of [["first", 1], ["second", 2]]) {
    const [x, y] = ["x", "y"].map((axis) => Number(form.elements[`${name}_${axis}`].value) || 0);
    sheet.querySelector(`[data-point="${name}"]`).setAttribute("transform", `translate(${x} ${y})`);
    line.setAttribute(`x${end}`, x);
    line.setAttribute(`y${end}`, y);
  }
}

if (form) {
  sheet.addEventListener("click", (event) => {
    const spot = spotOf(sheet, event);
    form.elements[`${next}_x`].value = spot.x.toFixed(1);
    form.elements[`${next}_y`].value = spot.y.toFixed(1);
    next = next === "first" ? "second" : "first";
    draw();
    if (next === "first") form.elements.distance.focus({ preventScroll: true });
  });
  form.addEventListener("input", draw);
}
