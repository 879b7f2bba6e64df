import { expect, test } from 'vitest';
import type { Mark, Scene } from '../../src/figures/scene.js';
import { plotSection, type SectionPlot } from '../../src/figures/section-plot.js';
import { svgText } from '../../src/figures/svg.js';
import { readXml } from './xml.js';

const flat = (marks: readonly Mark[]): Exclude<Mark, { kind: 'group' }>[] =>
  marks.flatMap((m) => (m.kind === 'group' ? flat(m.marks) : [m]));
const group = (scene: Scene, name: string) => {
  const found = scene.marks.find((m) => m.kind === 'group' && m.name === name);
  if (found?.kind !== 'group') throw new Error(`no group ${name}`);
  return flat(found.marks);
};
const texts = (scene: Scene) => flat(scene.marks).flatMap((m) => (m.kind === 'text' ? [m.text] : []));

const along = [0, 1, 2, 3, 4];
const section: SectionPlot = {
  title: 'Section along row 7',
  lengthM: 4,
  exaggeration: 2,
  datumName: 'site datum',
  surfaces: [
    { name: 'deposit_top', along, elevation: [0.5, 0.6, 0.6, Number.NaN, 0.4], pattern: 'heavy' },
    { name: 'deposit_bottom', along, elevation: [0, 0.1, 0, 0, 0], pattern: 'dashed' },
  ],
  fill: { name: 'deposit', upper: 'deposit_top', lower: 'deposit_bottom' },
  finds: [{ name: 'jar', points: [[1.5, 0.3]], ranges: [[2.5, 0.1, 0.2]], style: 'class1' }],
  bends: [2],
  notes: ['from 0, 7 to 4, 7'],
};

test('a section is whole, comes out the same twice, and states scale and exaggeration', () => {
  const drawing = svgText(plotSection(section));
  expect(svgText(plotSection(section))).toBe(drawing);
  expect(readXml(drawing).elements[0].attributes['width']).toBe('180mm');
  expect(drawing).not.toMatch(/NaN|undefined|Infinity/);
  const words = texts(plotSection(section)).join(' ');
  for (const expected of ['deposit_top', 'deposit_bottom', 'jar, 2', 'elevation, m (site datum)', 'bend of the line']) {
    expect(words).toContain(expected);
  }
  expect(words).toMatch(/heights drawn 2 times as large/);
  expect(texts(plotSection({ ...section, exaggeration: 1 })).join(' ')).toContain('not exaggerated');
});

test('heights are drawn larger than lengths by the exaggeration, to the same scale', () => {
  const scene = plotSection(section);
  const [bottom] = group(scene, 'deposit_bottom');
  if (bottom.kind !== 'line') throw new Error('no line');
  const [[x0, y0], [x1, y1]] = bottom.points;
  // one metre along, a tenth of a metre up
  expect((y0 - y1) / (x1 - x0)).toBeCloseTo(0.2, 9);
});

test('a gap breaks the line and the filled ground; a lone place stays visible', () => {
  const top = group(plotSection(section), 'deposit_top');
  expect(top.map((m) => m.kind)).toEqual(['line', 'symbol']);
  const fill = group(plotSection(section), 'deposit');
  expect(fill[0].kind === 'area' && fill[0].rings.map((r) => r.length)).toEqual([6]);
});

test('nothing is drawn off the paper, whatever the shape of the section', () => {
  for (const spec of [section, { ...section, exaggeration: 40 }, { ...section, surfaces: [], finds: [] }]) {
    const scene = plotSection(spec);
    for (const mark of flat(scene.marks)) {
      const corners = mark.kind === 'line' ? mark.points : mark.kind === 'area' ? mark.rings.flat() : [mark.at];
      for (const [x, y] of corners) {
        expect(x).toBeGreaterThanOrEqual(-1e-9);
        expect(x).toBeLessThanOrEqual(scene.widthMm + 1e-9);
        expect(y).toBeGreaterThanOrEqual(-1e-9);
        expect(y).toBeLessThanOrEqual(scene.heightMm + 1e-9);
      }
    }
  }
});
