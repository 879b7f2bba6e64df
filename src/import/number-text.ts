export type Decimal = '.' | ',';

// 10^22 is the largest power of ten that a double holds exactly
const powers = Float64Array.from({ length: 23 }, (_, k) => Number(`1e${k}`));
const largestExact = 2 ** 53;

/**
 * A number written out in digits, read from bytes. NaN when it is not one: no blanks, no thousands separators, no
 * 0x10, no NaN or Infinity, nothing that overflows.
 *
 * Up to 15 digits, the value is a whole number over a power of ten, both exact, so the one rounding of the division
 * gives the nearest double, the same as reading the text would.
 * @param bytes    the number stands in bytes[start … end − 1]
 * @param decimal  the decimal sign declared
 */
export function readNumber(bytes: Uint8Array, start: number, end: number, decimal: Decimal): number {
  const point = decimal === '.' ? 46 : 44;
  let i = start;
  const negative = bytes[i] === 45;
  if (negative) i += 1;
  if (end - i > 16) return readLong(bytes, start, end, decimal);
  let whole = 0;
  let digits = 0;
  let after = -1;
  for (; i < end; i++) {
    const digit = bytes[i] - 48;
    if (digit >= 0 && digit <= 9) {
      whole = whole * 10 + digit;
      digits += 1;
      if (after >= 0) after += 1;
    } else if (bytes[i] === point && after < 0) {
      after = 0;
    } else {
      return readLong(bytes, start, end, decimal);
    }
  }
  if (digits === 0 || after === 0 || whole >= largestExact) return readLong(bytes, start, end, decimal);
  const value = after > 0 ? whole / powers[after] : whole;
  return negative && value !== 0 ? -value : value;
}

const pointForm = /^[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d{1,4})?$/;
const commaForm = /^[+-]?(?:\d+(?:,\d+)?|,\d+)(?:[eE][+-]?\d{1,4})?$/;
const longestNumber = 400;

function readLong(bytes: Uint8Array, start: number, end: number, decimal: Decimal): number {
  if (end - start > longestNumber) return Number.NaN;
  let text = '';
  for (let i = start; i < end; i++) text += String.fromCharCode(bytes[i]);
  if (!(decimal === '.' ? pointForm : commaForm).test(text)) return Number.NaN;
  // the form is checked above; Number alone would take '' and 0x10
  const value = Number(text.replace(',', '.'));
  if (!Number.isFinite(value)) return Number.NaN;
  if (value === 0) return /[1-9]/.test(text.replace(/[eE].*$/, '')) ? Number.NaN : 0;
  return value;
}

/** Why a text is no number, with the remedy. */
export function whyNotNumber(text: string, decimal: Decimal): string {
  if (decimal === '.' && /^[+-]?\d+,\d+$/.test(text))
    return 'is written with a decimal comma, but site.json declares no decimal comma (csv.decimal)';
  if (decimal === ',' && /^[+-]?\d*\.\d+$/.test(text))
    return 'is written with a decimal point, but site.json declares a decimal comma (csv.decimal)';
  if (/^[+-]?0x/i.test(text)) return 'is a hexadecimal number; write it in decimal digits';
  if (/^[+-]?(nan|inf|infinity|null|none|n\/a|na|-+)$/i.test(text))
    return 'is no number; leave the cell empty when it is unknown';
  if (/^[+-]?[\d.,]+\s*(-|–|to)\s*[\d.,]+$/.test(text)) return 'is a range; give one value';
  if (/^(c\.?|ca\.?|about|~|<|>|±)\s*\d/i.test(text))
    return 'is not a plain number; give the value, and how sure it is in its own column';
  if (/^[+-]?\d[\d.]*e[+-]?\d+$/i.test(text)) return 'is outside the range of numbers';
  if (/\d/.test(text) && /[a-zµ°%"'′″]\.?$/i.test(text)) return 'is not a plain number; leave the unit out';
  return 'is not a number';
}
