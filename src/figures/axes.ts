import { niceStep, stepDecimals } from '../math/round-steps.js';

export { niceStep, stepDecimals };

/** A space that holds a number and its unit together, narrower than a word space. */
export const thinSpace = '\u2009';
const minusSign = '\u2212';

/**
 * Round values for an axis: steps of 1, 2 or 5 times a power of ten, all inside [low, high].
 *
 * @param low    lower end in the axis' unit
 * @param high   upper end; ends in the wrong order are swapped, equal ends give the one value
 * @param about  how many are wanted; the answer has between half and about twice as many
 */
export function niceTicks(low: number, high: number, about = 6): number[] {
  if (!Number.isFinite(low) || !Number.isFinite(high)) return [];
  const from = Math.min(low, high);
  const to = Math.max(low, high);
  if (from === to) return [from];
  const step = niceStep(to - from, about);
  const slack = 1e-9 * (to - from);
  const first = Math.ceil((from - slack) / step);
  const last = Math.floor((to + slack) / step);
  const decimals = stepDecimals(step);
  const ticks: number[] = [];
  // counted in whole steps and cut to the step's digits, so that 0.1 + 0.2 is 0.3 and zero is no −0
  for (let k = first; k <= last; k++) ticks.push(Number((k * step).toFixed(decimals)) + 0);
  return ticks;
}

/**
 * A number as people read it: true minus sign, thin spaces between thousands from 10 000 on, and exactly
 * `decimals` digits after the point. Unknown (not finite) is an en dash.
 */
export function fixedText(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return '–';
  const text = Math.abs(value).toFixed(decimals);
  const [whole, fraction] = text.split('.');
  const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, thinSpace) : whole;
  const body = fraction === undefined ? grouped : `${grouped}.${fraction}`;
  return value < 0 && /[1-9]/.test(text) ? `${minusSign}${body}` : body;
}

/**
 * A number with no more digits than are known: up to the first digit of its error when that is given, else so many
 * significant digits, without idle zeros at the end.
 *
 * @param value  the number
 * @param known  `error`: its standard error in the same unit; `digits`: significant digits (4)
 */
export function numberText(value: number, known: { readonly error?: number; readonly digits?: number } = {}): string {
  if (!Number.isFinite(value)) return '–';
  if (known.error !== undefined && known.error > 0 && Number.isFinite(known.error)) {
    return fixedText(value, Math.min(12, Math.max(0, -Math.floor(Math.log10(known.error)))));
  }
  if (value === 0) return '0';
  const digits = known.digits ?? 4;
  const size = Math.floor(Math.log10(Math.abs(value)));
  if (size < -6 || size >= 15) {
    const [lead, exponent] = value.toExponential(digits - 1).split('e');
    return `${numberText(Number(lead), { digits })}${thinSpace}×${thinSpace}10${raised(Number(exponent))}`;
  }
  const decimals = Math.max(0, digits - 1 - size);
  const shortest = value.toFixed(decimals).replace(/(\.\d*?)0+$/, '$1');
  return fixedText(value, shortest.split('.')[1]?.length ?? 0);
}

function raised(exponent: number): string {
  return [...String(exponent)].map((c) => (c === '-' ? '⁻' : '⁰¹²³⁴⁵⁶⁷⁸⁹'[Number(c)])).join('');
}

/** Labels of ticks: as many digits as their step needs, all the same number. */
export function tickTexts(ticks: readonly number[]): string[] {
  const decimals = ticks.length > 1 ? Math.max(...ticks.map((t) => stepDecimals(Math.abs(t)))) : 0;
  return ticks.map((t) => (ticks.length > 1 ? fixedText(t, decimals) : numberText(t)));
}

const unitWords: Readonly<Record<string, string>> = {
  m: 'm',
  m2: 'm²',
  m3: 'm³',
  'm-2': 'per m²',
  'm-3': 'per m³',
  cm: 'cm',
  mm: 'mm',
  deg: '°',
  g: 'g',
  kg: 'kg',
  s: 's',
  '%': '%',
  't/m3': 't/m³',
  '1': '',
};

/** A UCUM code as people write it; an unknown code stays as it is, '1' is nothing. */
export function unitText(ucum: string): string {
  return unitWords[ucum] ?? ucum;
}

/** A number text and its unit (UCUM), thin space between; degrees follow without a space. */
export function withUnit(text: string, ucum: string): string {
  const unit = unitText(ucum);
  if (unit === '') return text;
  return unit === '°' ? `${text}${unit}` : `${text}${thinSpace}${unit}`;
}
