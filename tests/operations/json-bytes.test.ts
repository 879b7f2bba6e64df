import { expect, test } from 'vitest';
import { randomStream } from '../../src/math/random.js';
import { JsonBytes, prepareText } from '../../src/operations/json-bytes.js';

const written = (write: (out: JsonBytes) => void) => {
  const out = new JsonBytes(8);
  write(out);
  return out.takeText();
};

test('a number is written as the language writes it', () => {
  const random = randomStream(6, 0);
  const edges = [
    0,
    -0,
    1,
    -1,
    9,
    10,
    99,
    100,
    0.1 + 0.2,
    0.5,
    -0.0001,
    1e-5,
    1e21,
    1e15,
    999_999_999_999_999,
    2 ** 53 - 1,
  ];
  const wide = [2 ** 31 - 1, 2 ** 31, -(2 ** 31), 2 ** 40 + 3, Number.MAX_VALUE, Number.MIN_VALUE, 99_999_999_999.9999];
  const drawn = Array.from({ length: 20_000 }, (_, k) => {
    const value = (random.next() - 0.5) * 10 ** (k % 17);
    return k % 3 === 0 ? value : Math.round(value * 10 ** (k % 7)) / 10 ** (k % 7);
  });
  const all = [...edges, ...wide, ...drawn];
  const text = written((out) => {
    for (const value of all) {
      out.number(value);
      out.byte(0x0a);
    }
  });
  expect(text.trimEnd().split('\n')).toEqual(all.map((value) => JSON.stringify(value)));
});

test('a rounded number is the rounded number', () => {
  const random = randomStream(7, 0);
  for (let k = 0; k < 20_000; k++) {
    const decimals = k % 10;
    const value = (random.next() - 0.5) * 10 ** (k % 9);
    const text = written((out) => out.rounded(value, decimals, 10 ** decimals));
    if (Number(text) !== Math.round(value * 10 ** decimals) / 10 ** decimals + 0) expect.fail(`${value}: ${text}`);
    if (!/^-?\d+(\.\d*[1-9])?$/.test(text)) expect.fail(`${value}: ${text}`);
  }
});

test('quoted texts are those of JSON.stringify, from any place in the bytes', () => {
  const texts = ['F-1', 'a "b" \\', 'κεραία', '🏺', '\u0000\n\u007f', ' ~', '\u2028'];
  const bytes = Buffer.from(texts.join(''));
  let start = 0;
  for (const text of texts) {
    const end = start + Buffer.byteLength(text);
    const at = start;
    expect(written((out) => out.quoted(bytes, at, end))).toBe(JSON.stringify(text));
    start = end;
  }
});

test('the writer starts again after it was emptied, and grows as needed', () => {
  const out = new JsonBytes(1);
  out.text('é');
  out.raw(prepareText('x'.repeat(5000)));
  expect(out.size).toBe(5002);
  expect(out.takeText()).toBe(`é${'x'.repeat(5000)}`);
  out.text('plain');
  expect(Buffer.from(out.take()).toString()).toBe('plain');
  expect(out.size).toBe(0);
});
