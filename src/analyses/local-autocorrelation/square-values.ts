/** How a count becomes the value of a square. */
export type ValueKind = 'rate' | 'count' | 'standardised_rate';

/**
 * Values of squares from their counts: the count, the count per m² dug, or the rate standardised for the ground it
 * rests on, so that a half-dug square is not taken for an extreme one.
 *
 * @param counts    [n]
 * @param exposure  [n] m² dug, above 0
 * @returns         [n] counts, finds per m², or standard deviations
 * @see Assunção & Reis 1999, doi:10.1002/(SICI)1097-0258(19990830)18:16<2147::AID-SIM179>3.0.CO;2-I
 */
export function squareValues(counts: Float64Array, exposure: Float64Array, kind: ValueKind): Float64Array {
  if (kind === 'count') return counts.slice();
  const rates = counts.map((count, i) => count / exposure[i]);
  if (kind === 'rate') return rates;
  let total = 0;
  let ground = 0;
  for (let i = 0; i < counts.length; i++) {
    total += counts[i];
    ground += exposure[i];
  }
  const mean = total / ground;
  let spread = 0;
  for (let i = 0; i < counts.length; i++) spread += (exposure[i] * (rates[i] - mean) ** 2) / ground;
  // what the rates vary beyond chance; where they vary less, chance alone stands
  const beyond = Math.max(0, spread - (mean * counts.length) / ground);
  return rates.map((rate, i) => (total > 0 ? (rate - mean) / Math.sqrt(beyond + mean / exposure[i]) : 0));
}
