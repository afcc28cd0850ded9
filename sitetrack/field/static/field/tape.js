// Fractions as a tape shows them.

/** So many parts of an inch as inches and a fraction in lowest terms: 36 1/16, 3/32, 0. */
export function lowestText(parts, denominator) {
  const inches = Math.floor(parts / denominator);
  let [over, under] = [parts % denominator, denominator];
  while (over && over % 2 === 0) [over, under] = [over / 2, under / 2];
  if (!over) return String(inches);
  return inches ? `${inches} ${over}/${under}` : `${over}/${under}`;
}
