/**
 * The tail of chi-square and its inverse: all that the tests need of statistics.
 * @module reconcile/special
 */

const TINY = 1e-16;

/** The log of the gamma function by Stirling's series, above 15 where it is exact. @param {number} a */
function logGamma(a) {
  let below = 1;
  for (; a < 15; a++) below *= a;
  const z = 1 / (a * a);
  const series = (1 / 12 - z * (1 / 360 - z * (1 / 1260 - z / 1680))) / a;
  return (a - 0.5) * Math.log(a) - a + Math.log(2 * Math.PI) / 2 + series - Math.log(below);
}

/**
 * The chance that a chi-square is above a figure: the incomplete gamma function, by its series
 * near zero and by its continued fraction (Lentz's way) elsewhere.
 * @param {number} dof degrees of freedom, 1 or more
 * @param {number} chi2 [-]
 * @returns {number}
 */
export function tail(dof, chi2) {
  const a = dof / 2,
    x = chi2 / 2;
  if (x <= 0) return 1;
  const front = Math.exp(a * Math.log(x) - x - logGamma(a));
  if (x < a + 1) {
    let sum = 1 / a;
    for (let term = sum, n = a + 1; term > sum * TINY; n++) sum += term *= x / n;
    return 1 - front * sum;
  }
  let b = x + 1 - a,
    c = 1e300,
    d = 1 / b,
    h = d;
  for (let i = 1, change = 0; Math.abs(change - 1) > 3 * TINY && i < 1e5; i++) {
    const step = i * (a - i);
    b += 2;
    d = 1 / (step * d + b);
    c = b + step / c;
    change = d * c;
    h *= change;
  }
  return front * h;
}

/**
 * The figure that a chi-square exceeds with a given chance.
 * @param {number} dof degrees of freedom, 1 or more
 * @param {number} chance 0 to 1
 * @returns {number}
 */
export function quantile(dof, chance) {
  let low = 0,
    high = dof + 1;
  while (tail(dof, high) > chance) [low, high] = [high, 2 * high];
  while (high - low > high * 1e-14) {
    const middle = (low + high) / 2;
    if (middle === low || middle === high) break;
    if (tail(dof, middle) > chance) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
