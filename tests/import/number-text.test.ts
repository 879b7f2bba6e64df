import fc from 'fast-check';
import { expect, test } from 'vitest';
import { type Decimal, readNumber, whyNotNumber } from '../../src/import/number-text.js';

const read = (text: string, decimal: Decimal = '.'): number => {
  const bytes = new TextEncoder().encode(`x${text}y`);
  return readNumber(bytes, 1, bytes.length - 1, decimal);
};

test('numbers come out as the nearest double, bit by bit', () => {
  fc.assert(
    fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
      const kept = value === 0 ? 0 : value;
      expect(read(String(value))).toBe(kept);
    }),
    { seed: 1, numRuns: 2000 },
  );
  fc.assert(
    fc.property(fc.integer({ min: -1e9, max: 1e9 }), fc.integer({ min: 0, max: 12 }), (whole, places) => {
      const text = (whole / 1000).toFixed(places);
      expect(read(text)).toBe(Number(text) === 0 ? 0 : Number(text));
      expect(read(text.replace('.', ','), ',')).toBe(Number(text) === 0 ? 0 : Number(text));
    }),
    { seed: 2, numRuns: 2000 },
  );
});

test.each([
  '9007199254740993',
  '900719925474099.3',
  '0.1',
  '123456789012345.6',
  '1e3',
  '1E-3',
  '+4',
  '.5',
  '-.5',
  '007',
])('%s is a number', (text) => {
  expect(read(text)).toBe(Number(text));
});

// every one of these is something Number or parseFloat would take, or a spelling seen in field sheets
const refused = [
  ...[
    '',
    ' ',
    '-',
    '+',
    '.',
    ',',
    '5.',
    '1.2.3',
    '--1',
    '+-1',
    '1e',
    'e5',
    '1e5.5',
    '1e+',
    '0x10',
    '0X1F',
    '0b1',
    '0o7',
  ],
  ...['12abc', 'abc', '1 2', ' 1', '1 ', '1_000', '1,000', '1.000,5', '1e309', '-1e309', '1e-400', '1e99999', 'NaN'],
  ...[
    'Infinity',
    '-Infinity',
    'inf',
    'null',
    'n/a',
    '-999m',
    '2.3-2.45',
    'c. 2.3',
    '~5',
    '<3',
    '½',
    '１２',
    '٣',
    '1’000',
  ],
  ...['1f', '1d', '0.5%', '1°', '5"', '(3)', '=1+1', '$3', '1/2', '\t1', '1\u00a0', '1e1e1', '−5'],
];

test.each(refused)('"%s" is no number, with a reason', (text) => {
  expect(read(text)).toBeNaN();
  expect(whyNotNumber(text, '.')).toMatch(/^is /);
});

test('the decimal sign is the declared one only', () => {
  expect(read('1,5')).toBeNaN();
  expect(read('1.5', ',')).toBeNaN();
  expect(read('1,5', ',')).toBe(1.5);
});

test('minus zero is zero', () => {
  expect(Object.is(read('-0'), 0)).toBe(true);
  expect(Object.is(read('-0.00'), 0)).toBe(true);
});
