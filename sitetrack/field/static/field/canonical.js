// Canonical JSON (RFC 8785): members in the order of their names, nothing between. A report is written once in this
// form when it is made and sent as that text ever after, so that sending it again sends the very same bytes.

/**
 * The canonical text of plain data.
 * @param {unknown} value null, booleans, finite numbers, text, lists and plain objects; undefined members are left out
 * @returns {string}
 */
export function canonical(value) {
  if (value === null || typeof value === "boolean") return String(value);
  if (typeof value === "number") {
    if (!Number.isFinite(value)) throw new TypeError(`${value} has no place in JSON`);
    return JSON.stringify(value);
  }
  if (typeof value === "string") {
    if (!isWellFormed(value)) throw new TypeError("half a character has no place in JSON");
    return JSON.stringify(value);
  }
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  if (typeof value === "object") {
    const names = Object.keys(value)
      .filter((name) => value[name] !== undefined)
      .sort();
    return `{${names.map((name) => `${JSON.stringify(name)}:${canonical(value[name])}`).join(",")}}`;
  }
  throw new TypeError(`${typeof value} has no place in JSON`);
}

/** Text as typed, without what no data base can hold: half-written characters and NUL. */
export function wellFormed(text) {
  const pairOrHalf = /[\uD800-\uDBFF][\uDC00-\uDFFF]|[\uD800-\uDFFF]/g;
  return text.replaceAll("\u0000", "").replace(pairOrHalf, (found) => (found.length === 2 ? found : ""));
}

function isWellFormed(text) {
  return wellFormed(text).length === text.replaceAll("\u0000", "").length;
}
