import { holm as holmOfNumbers } from './false-discovery.js';

/**
 * Probabilities raised for the number of tests made, so that a false claim anywhere among them stays below the level.
 * @param p  in any order; null = no test was possible, and counts as none
 * @see Holm 1979, Scandinavian Journal of Statistics 6, 65–70
 */
export function holm(p: readonly (number | null)[]): (number | null)[] {
  const raised = holmOfNumbers(Float64Array.from(p, (value) => value ?? Number.NaN));
  return Array.from(raised, (value) => (Number.isNaN(value) ? null : value));
}
