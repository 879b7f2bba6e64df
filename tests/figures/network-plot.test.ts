import { expect, test } from 'vitest';
import { type NetworkPlot, plotNetwork } from '../../src/figures/network-plot.js';
import type { Mark, Scene } from '../../src/figures/scene.js';
import { svgText } from '../../src/figures/svg.js';
import { near } from '../support/near.js';

const spec: NetworkPlot = {
  title: 'A network',
  points: [
    { at: [0, 0], name: 'A', kind: 'fixed' },
    { at: [10, 0], name: 'B', kind: 'fixed' },
    { at: [4, 6], name: 'P', kind: 'found' },
    { at: [4.01, 6.01], name: 'Q', kind: 'weak' },
  ],
  lines: [
    { from: [0, 0], to: [4, 6], kind: 'reading' },
    { from: [10, 0], to: [4, 6], kind: 'suspect' },
  ],
  ellipses: [{ at: [4, 6], semiMajorM: 0.04, semiMinorM: 0.01, azimuthDeg: 90 }],
  arrows: [],
  enlargedName: '95 % ellipses',
  notes: ['two tapes'],
};

function flat(marks: readonly Mark[]): Mark[] {
  return marks.flatMap((mark) => (mark.kind === 'group' ? flat(mark.marks) : [mark]));
}
const group = (scene: Scene, name: string) => scene.marks.filter((mark) => mark.kind === 'group' && mark.name === name);
const texts = (scene: Scene) => flat(scene.marks).flatMap((mark) => (mark.kind === 'text' ? [mark.text] : []));

/** half the extent of an ellipse on the sheet, and how often the legend says it is enlarged */
function drawn(scene: Scene) {
  const [line] = flat(group(scene, '95 % ellipses'));
  if (line?.kind !== 'line') throw new Error('no ellipse');
  const half = (k: number) =>
    (Math.max(...line.points.map((p) => p[k])) - Math.min(...line.points.map((p) => p[k]))) / 2;
  const times = Number(/drawn (\d+) times/.exec(texts(scene).join(' '))?.[1]);
  const scale = Number(/1 : ([\d.]+)/.exec(texts(scene).join(' '))?.[1]);
  return { halfX: half(0), halfY: half(1), times, scale };
}

test('an ellipse is drawn as large as the legend says, its long axis along its azimuth', () => {
  const { halfX, halfY, times, scale } = drawn(plotNetwork(spec));
  near(halfX, (0.04 * 1000 * times) / scale, { relative: 0.01 });
  near(halfY, (0.01 * 1000 * times) / scale, { relative: 0.01 });
  expect(halfX).toBeLessThanOrEqual(9);
  const upright = drawn(plotNetwork({ ...spec, ellipses: [{ ...spec.ellipses[0], azimuthDeg: 0 }] }));
  expect(upright.halfY).toBeGreaterThan(upright.halfX);
});

test('suspect readings lie on top and are counted', () => {
  const scene = plotNetwork(spec);
  const lines = flat(group(scene, 'readings'));
  expect(lines).toHaveLength(2);
  expect(lines[1].kind === 'line' && lines[1].stroke.dashMm).toBeTruthy();
  expect(texts(scene)).toContain('suspect reading, 1');
});

test('a name that would lie on another is left out', () => {
  const names = texts(plotNetwork(spec));
  expect(names).toContain('P');
  expect(names).not.toContain('Q');
});

test('arrows, few points and none make a drawing too', () => {
  const arrows = plotNetwork({ ...spec, ellipses: [], arrows: [{ at: [4, 6], dx: 0.02, dy: 0 }] });
  expect(flat(group(arrows, '95 % ellipses')).length).toBe(2);
  for (const points of [[], spec.points.slice(0, 1)]) {
    const svg = svgText(plotNetwork({ ...spec, points, lines: [], ellipses: [] }));
    expect(svg).not.toMatch(/NaN|undefined|Infinity/);
  }
});
