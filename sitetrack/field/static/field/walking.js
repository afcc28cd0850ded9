// The order in which a hand walks a floor: from where the last report was made, always to the nearest next along the
// plan; where the plan does not tell positions, in the order of the walk, going on from the last opening.

/**
 * @typedef {{number: string, walk: number, x?: number|null, y?: number|null}} Place
 * @param {Place[]} openings of one floor
 * @param {Place|null} last where the hand was last on this floor
 * @returns {Place[]}
 */
export function walkingOrder(openings, last = null) {
  const inOrder = [...openings].sort(byWalk);
  if (!inOrder.length) return [];
  const placed = inOrder.every(isPlaced) && (!last || isPlaced(last));
  return placed ? nearestNext(inOrder, last) : goingOn(inOrder, last);
}

function byWalk(one, other) {
  return (one.walk ?? 0) - (other.walk ?? 0) || one.number.localeCompare(other.number, "en", { numeric: true });
}

function isPlaced({ x, y }) {
  return Number.isFinite(x) && Number.isFinite(y);
}

function nearestNext(inOrder, last) {
  const left = [...inOrder];
  const walked = last ? [] : [left.shift()];
  let here = last ?? walked[0];
  while (left.length) {
    let nearest = 0;
    // The first of equally near ones: the list is in the order of the walk.
    for (let at = 1; at < left.length; at += 1) {
      if (distance(here, left[at]) < distance(here, left[nearest])) nearest = at;
    }
    [here] = left.splice(nearest, 1);
    walked.push(here);
  }
  return walked;
}

function goingOn(inOrder, last) {
  if (!last) return inOrder;
  const at = inOrder.findIndex((opening) => byWalk(opening, last) >= 0);
  return at <= 0 ? inOrder : [...inOrder.slice(at), ...inOrder.slice(0, at)];
}

function distance(one, other) {
  return (one.x - other.x) ** 2 + (one.y - other.y) ** 2;
}
