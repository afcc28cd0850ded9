// Building the page. Text only ever becomes text, so nothing that a schedule or a note holds can become markup.

const SVG = "http://www.w3.org/2000/svg";

/**
 * An element. Attributes of true stand bare, of false, null or undefined are left out; `on` holds listeners by event.
 * @param {string} tag
 * @param {Record<string, any>} attributes
 * @param {...(Node|string|number|null|undefined|false|Array)} children
 */
export function h(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

/** An element of a drawing. */
export function s(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

/** A button of the page, one that sends no form; pressed again before it has done, it does it once. */
export function button(words, onClick, attributes = {}) {
  return h("button", { type: "button", ...attributes, on: { click: oneAtATime(onClick) } }, words);
}

/** What a gloved finger sets off twice runs once at a time; the second press is let go. */
export function oneAtATime(work) {
  let busy = false;
  return async (event) => {
    event.preventDefault();
    if (busy) return;
    busy = true;
    try {
      await work(event);
    } finally {
      busy = false;
    }
  };
}

/** Puts new content in place of the old. */
export function fill(element, ...children) {
  element.replaceChildren(...children.flat(Infinity).filter(isShown));
  return element;
}

function filled(element, { on = {}, ...attributes }, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, String(value));
  }
  for (const [event, listener] of Object.entries(on)) element.addEventListener(event, listener);
  element.append(...children.flat(Infinity).filter(isShown));
  return element;
}

function isShown(child) {
  return child !== null && child !== undefined && child !== false;
}
