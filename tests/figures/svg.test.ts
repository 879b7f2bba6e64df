import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Mark, Symbol as MarkSymbol, Scene } from '../../src/figures/scene.js';
import { escapeXml, svgText } from '../../src/figures/svg.js';
import { payloads } from './payloads.js';
import { readXml } from './xml.js';

const scene = (marks: readonly Mark[], title = 'A drawing'): Scene => ({ widthMm: 100, heightMm: 50, title, marks });
const text = (words: string): Mark => ({
  kind: 'text',
  at: [1, 2],
  text: words,
  sizeMm: 3,
  colour: '#000',
  anchor: 'end',
});

test('one user unit is one millimetre', () => {
  const line: Mark = {
    kind: 'line',
    points: [
      [0, 0],
      [12.3456, -0.00001],
    ],
    stroke: { colour: '#000', widthMm: 0.25 },
  };
  const { elements } = readXml(svgText(scene([line])));
  expect(elements[0].attributes).toMatchObject({ width: '100mm', height: '50mm', viewBox: '0 0 100 50' });
  expect(elements.find((e) => e.name === 'path')?.attributes).toMatchObject({
    d: 'M0 0L12.346 0',
    'stroke-width': '0.25',
    fill: 'none',
  });
});

test('whatever a name holds, it is text in the drawing and the drawing stays well-formed', () => {
  for (const payload of payloads) {
    const drawing = svgText(scene([{ kind: 'group', name: payload, marks: [text(payload)] }], payload));
    const { elements, texts } = readXml(drawing);
    expect(texts.filter((t) => t === payload)).toHaveLength(2);
    expect(elements.map((e) => e.name)).toEqual(['svg', 'title', 'g', 'text']);
    expect(elements[2].attributes).toEqual({ 'data-name': payload });
  }
});

test('any characters at all give well-formed XML; those XML cannot hold are replaced', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'binary', maxLength: 40 }), (words) => {
      readXml(svgText(scene([text(words)], words)));
    }),
    { seed: 14, numRuns: 100 },
  );
  expect(escapeXml('a\u0000b\ud800c\uffffd')).toBe('a\ufffdb\ufffdc\ufffdd');
  expect(escapeXml('Ærø 🏺 ≥ 3')).toBe('Ærø 🏺 ≥ 3');
});

test('the reader of these tests does refuse what is not well-formed', () => {
  for (const wrong of [
    '<a>',
    '<a></b>',
    '<a>&nbsp;</a>',
    '<a b=c/>',
    '<a b="1" b="2"/>',
    '<a/><b/>',
    '<a>\u0001</a>',
    '',
  ]) {
    expect(() => readXml(wrong)).toThrow();
  }
});

test('neighbouring marks of one look share a path; areas do not', () => {
  const stroke = { colour: '#000', widthMm: 0.1 };
  const ring: [number, number][] = [
    [0, 0],
    [4, 0],
    [4, 4],
  ];
  const lines: Mark[] = [
    {
      kind: 'line',
      points: [
        [0, 0],
        [1, 0],
      ],
      stroke,
    },
    {
      kind: 'line',
      points: [
        [0, 1],
        [1, 1],
      ],
      stroke,
    },
    {
      kind: 'line',
      points: [
        [0, 2],
        [1, 2],
      ],
      stroke: { ...stroke, dashMm: [1, 0.5] },
    },
  ];
  const areas: Mark[] = [
    { kind: 'area', rings: [ring], fill: '#fff', opacity: 0.5 },
    { kind: 'area', rings: [ring], fill: '#fff', opacity: 0.5 },
  ];
  const paths = readXml(svgText(scene([...lines, ...areas]))).elements.filter((e) => e.name === 'path');
  expect(paths.map((p) => p.attributes['d'])).toEqual([
    'M0 0L1 0M0 1L1 1',
    'M0 2L1 2',
    'M0 0L4 0L4 4Z',
    'M0 0L4 0L4 4Z',
  ]);
  expect(paths[1].attributes['stroke-dasharray']).toBe('1 0.5');
  expect(paths[2].attributes).toMatchObject({ 'fill-rule': 'evenodd', 'fill-opacity': '0.5' });
});

test('every symbol stays within its size and none looks like another', () => {
  const symbols: MarkSymbol[] = [
    'circle',
    'square',
    'triangle-up',
    'triangle-down',
    'diamond',
    'cross',
    'plus',
    'ring',
  ];
  const drawn = symbols.map((symbol) => {
    const mark: Mark = { kind: 'symbol', symbol, at: [10, 10], sizeMm: 2, colour: '#000000' };
    const path = readXml(svgText(scene([mark]))).elements.find((e) => e.name === 'path')?.attributes ?? {};
    for (const [, x, y] of (path['d'] ?? '').matchAll(/[ML](-?[\d.]+) (-?[\d.]+)/g)) {
      expect(Math.hypot(Number(x) - 10, Number(y) - 10)).toBeLessThanOrEqual(1.4);
    }
    return JSON.stringify(path);
  });
  expect(new Set(drawn).size).toBe(symbols.length);
});

test('the same scene gives the same bytes; a place that is no number is a bug and says so', () => {
  const marks = [text('twice')];
  expect(svgText(scene(marks))).toBe(svgText(scene(marks)));
  expect(() => svgText(scene([{ ...text('x'), at: [Number.NaN, 0] } as Mark]))).toThrow(/finite/);
});
