import { expect, test } from 'vitest';
import { withoutAccents, withoutCase } from '../../src/filter/fold.js';
import { likeTest } from '../../src/filter/like.js';
import { foldRows, utf8Rows } from '../../src/filter/text-rows.js';
import { randomStream } from '../../src/math/random.js';

// folded by Python 3.11.7, str.casefold()
const casefolded: readonly (readonly [string, string])[] = [
  ['Straße', 'strasse'],
  ['STRASSE', 'strasse'],
  ['GROẞE', 'grosse'],
  ['Οδος', 'οδοσ'],
  ['ΟΔΟΣ', 'οδοσ'],
  ['İzmir', 'i̇zmir'],
  ['ısırgan', 'ısırgan'],
  ['ﬁn', 'fin'],
  ['ŉ', 'ʼn'],
  ['Ω', 'ω'],
  ['K', 'k'],
  ['ſhip', 'ship'],
  ['\u0390', '\u03b9\u0308\u0301'],
  ['ᾀ', 'ἀι'],
  ['Ǆ', 'ǆ'],
  ['ǅ', 'ǆ'],
  ['Ж', 'ж'],
  ['Nail', 'nail'],
];

test('case is folded as Unicode has it', () => {
  for (const [text, folded] of casefolded) expect(withoutCase.text(text), text).toBe(folded);
});

test('accents are taken off letters, and nothing else', () => {
  for (const [text, bare] of [
    ['débárquér', 'debarquer'],
    ['Åse Øst Łódź', 'Ase Ost Lodz'],
    ['Ελλάς', 'Ελλας'],
    ['ёлка', 'елка'],
    ['e\u0301', 'e'],
    ['plain', 'plain'],
    ['日本 がぎ', '日本 がぎ'],
    ['\u0301', '\u0301'],
  ]) {
    expect(withoutAccents.text(text), text).toBe(bare);
  }
});

test('a column folded byte by byte is what its texts are, folded one by one', () => {
  const random = randomStream(5, 1);
  const letters = [...'abcXYZ é ß Σ İ 🪵 _%'];
  const texts = Array.from({ length: 500 }, () =>
    Array.from(
      { length: random.below(9) },
      () => letters[random.below(random.below(2) === 0 ? 6 : letters.length)],
    ).join(''),
  );
  for (const fold of [withoutCase, withoutAccents]) {
    const { bytes, ends } = foldRows(utf8Rows(texts), fold);
    const read = texts.map((_, k) => Buffer.from(bytes).toString('utf8', k === 0 ? 0 : ends[k - 1], ends[k]));
    expect(read).toEqual(texts.map((text) => fold.text(text)));
  }
});

test.each([
  ['%', '', true],
  ['%', 'anything', true],
  ['_', 'é', true],
  ['_', '🪵', true],
  ['_', '', false],
  ['_', 'ab', false],
  ['a%b', 'ab', true],
  ['a%b', 'a b a b', true],
  ['a%b', 'a b c', false],
  ['%a_c%', 'xxabcxx', true],
  ['%é', 'café', true],
  ['%_é', 'é', false],
  ['100\\%', '100%', true],
  ['100\\%', '1000', false],
  ['a\\_b', 'axb', false],
  ['a\\\\b', 'a\\b', true],
  ['a\\', 'a\\', true],
  ['.*', 'ab', false],
  ['%aab', 'aaab', true],
  ['%%%', 'x', true],
] as const)('LIKE %s of "%s" is %s', (pattern, text, wanted) => {
  const bytes = new TextEncoder().encode(text);
  expect(likeTest(pattern)(bytes, 0, bytes.length)).toBe(wanted);
});

test('no pattern makes LIKE slow', () => {
  const bytes = new TextEncoder().encode('a'.repeat(5000));
  const pattern = `${'%a'.repeat(2000)}%b`;
  const started = performance.now();
  expect(likeTest(pattern)(bytes, 0, bytes.length)).toBe(false);
  expect(performance.now() - started).toBeLessThan(1000);
});
