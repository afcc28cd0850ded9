// Drawing a page anew under someone's hands: focus, scroll and what was folded open stay as they were.

const FOCUSABLE = "a, button, input, select, textarea, summary, h1";

/** Runs `draw`, which puts new content into `main`, and puts the reader back where they were in it. */
export function keepPlace(main, draw) {
  const focusable = () => [...main.querySelectorAll(FOCUSABLE)];
  const folds = () => [...main.querySelectorAll("details")];
  const focused = document.activeElement;
  const at = focusable().indexOf(focused);
  const open = new Set(folds().filter((fold) => fold.open).map(nameOf));
  const scrolled = window.scrollY;
  draw();
  for (const fold of folds()) fold.open = open.has(nameOf(fold));
  const same = at >= 0 ? focusable().find((each) => isLike(each, focused)) ?? focusable()[at] : null;
  same?.focus({ preventScroll: true });
  window.scrollTo(0, scrolled);
}

// By its place among the folds: what its line says may have changed.
function nameOf(fold) {
  return [...fold.parentElement.children].indexOf(fold) + fold.className + fold.parentElement.className;
}

function isLike(one, other) {
  return one.tagName === other.tagName && one.id === other.id && one.textContent === other.textContent;
}
