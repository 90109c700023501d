// Chance that can be had again by its number.

/** Numbers from 0 up to 1, the same for the same seed (a 32-bit mixing counter). */
export function chance(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x9e3779b9) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
    mixed = Math.imul(mixed ^ (mixed >>> 15), 0x735a2d97);
    return ((mixed ^ (mixed >>> 15)) >>> 0) / 2 ** 32;
  };
}

/** The list in an order of chance. */
export function shuffled(list, seed) {
  const next = chance(seed);
  return list
    .map((one) => [next(), one])
    .sort(([a], [b]) => a - b)
    .map(([, one]) => one);
}
