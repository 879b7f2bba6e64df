/** The round step (1, 2 or 5 times a power of ten) that cuts `extent` into about so many parts. */
export function niceStep(extent: number, about: number): number {
  const raw = extent / Math.max(1, about);
  const exponent = Math.floor(Math.log10(raw));
  const lead = raw / 10 ** exponent;
  const round = lead < 1.5 ? 1 : lead < 3.5 ? 2 : lead < 7.5 ? 5 : 10;
  return inPowers(round, exponent);
}

/** The least round step (1, 2 or 5 times a power of ten) that is not smaller than a length. */
export function roundStepFrom(least: number): number {
  const exponent = Math.floor(Math.log10(least));
  const lead = least / 10 ** exponent;
  // 0.5 / 0.1 may come out a hair above 5
  const round = [1, 2, 5, 10].find((step) => step >= lead - 1e-9) ?? 10;
  return inPowers(round, exponent);
}

function inPowers(round: number, exponent: number): number {
  // a negative power by division: 10 ** -1 is exact enough, 5 * 10 ** -2 is not
  return exponent >= 0 ? round * 10 ** exponent : round / 10 ** -exponent;
}

/** Digits after the point that a step needs; 12 at most. */
export function stepDecimals(step: number): number {
  for (let d = 0; d < 12; d++) {
    const scaled = Math.abs(step) * 10 ** d;
    // against the step itself: 1e-7 is no whole number, though near one
    if (Math.abs(scaled - Math.round(scaled)) <= 1e-6 * scaled) return d;
  }
  return 12;
}
