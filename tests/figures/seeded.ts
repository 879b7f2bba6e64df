/** A few numbers between 0 and 1 from a seed, always the same. */
export function uniformAt(seed: number, n: number): number[] {
  let state = (Math.abs(Math.round(seed * 1000)) + 1) % 2147483647;
  return Array.from({ length: n }, () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  });
}
