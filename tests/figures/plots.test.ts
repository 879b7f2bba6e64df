import { expect, test } from 'vitest';
import { hatching } from '../../src/figures/hatching.js';
import { type CurvePlot, type PlanPlot, plotCurves, plotPlan } from '../../src/figures/plots.js';
import type { Mark, Scene } from '../../src/figures/scene.js';
import { svgText } from '../../src/figures/svg.js';
import { wrapText } from '../../src/figures/text-width.js';
import { payloads } from './payloads.js';
import { uniformAt } from './seeded.js';
import { readXml } from './xml.js';

type Point = readonly [number, number];

const flat = (marks: readonly Mark[]): Exclude<Mark, { kind: 'group' }>[] =>
  marks.flatMap((m) => (m.kind === 'group' ? flat(m.marks) : [m]));
const group = (scene: Scene, name: string) => {
  const found = scene.marks.find((m) => m.kind === 'group' && m.name === name);
  if (found?.kind !== 'group') throw new Error(`no group ${name}`);
  return flat(found.marks);
};
const texts = (scene: Scene) => flat(scene.marks).flatMap((m) => (m.kind === 'text' ? [m.text] : []));
const corners = (m: Mark): readonly Point[] =>
  m.kind === 'line'
    ? m.points
    : m.kind === 'area'
      ? m.rings.flat()
      : m.kind === 'symbol' || m.kind === 'text'
        ? [m.at]
        : [];

const r = Array.from({ length: 41 }, (_, i) => i * 0.1);
const curves: CurvePlot = {
  title: 'Are the stoneware jars clustered?',
  subtitle: 'Showing stoneware jars of 2021 to 2024 in the dug area, 238 m².',
  xTitle: 'distance r, m',
  yTitle: 'L(r) − r, m',
  curves: [
    { name: 'observed', x: r, y: r.map((v) => 0.3 * Math.sin(v)), style: 'observed' },
    { name: 'expected', x: r, y: r.map(() => 0), style: 'reference' },
  ],
  bands: [{ name: 'envelope', x: r, low: r.map(() => -0.05), high: r.map(() => 0.05) }],
  notes: ['tarn-ledge', 'n = 1450, window 238 m²', 'data version 1'],
};
const window: PlanPlot['window'] = [
  [
    [0, 0],
    [20, 0],
    [20, 10],
    [0, 10],
  ],
  [
    [8, 4],
    [8, 6],
    [10, 6],
    [10, 4],
  ],
];
const plan: PlanPlot = {
  title: 'Where the jars lie',
  window,
  points: [
    [1, 1],
    [5.5, 7.25],
  ],
  notes: ['n = 2', 'window 196 m²'],
};

test('both plots are well-formed, carry title, titles of axes and notes, and come out the same twice', () => {
  for (const draw of [() => plotCurves(curves), () => plotPlan(plan)]) {
    const drawing = svgText(draw());
    expect(svgText(draw())).toBe(drawing);
    expect(readXml(drawing).elements[0].attributes['width']).toBe('180mm');
  }
  const words = texts(plotCurves(curves));
  for (const expected of [curves.title, curves.xTitle, curves.yTitle, 'observed', 'envelope', ...curves.notes]) {
    expect(words).toContain(expected);
  }
  expect(texts(plotPlan(plan))).toEqual(expect.arrayContaining(['finds, 2', 'not dug', 'site_north', ...plan.notes]));
});

test('nothing is drawn off the paper', () => {
  const wide = plotPlan({
    ...plan,
    bands: [
      {
        level: 1,
        rings: [
          [
            [-50, -50],
            [70, -50],
            [70, 60],
            [-50, 60],
          ],
        ],
      },
    ],
  });
  for (const scene of [plotCurves(curves), plotPlan(plan), wide]) {
    for (const mark of flat(scene.marks)) {
      for (const [x, y] of corners(mark)) {
        expect(x).toBeGreaterThanOrEqual(0);
        expect(x).toBeLessThanOrEqual(scene.widthMm);
        expect(y).toBeGreaterThanOrEqual(0);
        expect(y).toBeLessThanOrEqual(scene.heightMm);
      }
    }
  }
});

test('a plan is true to the scale it states, upright, and not stretched', () => {
  for (const [widthM, heightM] of [
    [20, 10],
    [3, 9],
    [0.8, 0.5],
    [140, 90],
    [34, 20],
  ]) {
    const scene = plotPlan({
      ...plan,
      points: [],
      window: [
        [
          [0, 0],
          [widthM, 0],
          [widthM, heightM],
          [0, heightM],
        ],
      ],
    });
    const stated = texts(scene)
      .find((t) => t.startsWith('1 : '))
      ?.slice(4)
      .replaceAll('\u2009', '');
    const [outline] = group(scene, 'window');
    const [sw, se, ne] = corners(outline);
    expect(((se[0] - sw[0]) / 1000) * Number(stated)).toBeCloseTo(widthM, 9);
    expect(((se[1] - ne[1]) / 1000) * Number(stated)).toBeCloseTo(heightM, 9);
    expect(scene.widthMm).toBe(180);
    expect(scene.heightMm).toBeLessThan(260);
  }
});

test('the scale bar is as long as its figure says', () => {
  const scene = plotPlan(plan);
  const marks = group(scene, 'scale');
  const fields = marks.filter((m) => m.kind === 'area').flatMap(corners);
  const lengthMm = Math.max(...fields.map((p) => p[0])) - Math.min(...fields.map((p) => p[0]));
  const words = marks.flatMap((m) => (m.kind === 'text' ? [m.text] : []));
  const metres = Number(words.find((w) => w.endsWith('\u2009m'))?.replace('\u2009m', ''));
  const scale = Number(words.find((w) => w.startsWith('1 : '))?.slice(4));
  expect((lengthMm / 1000) * scale).toBeCloseTo(metres, 9);
});

test('finds, hull and bands stand where they were found', () => {
  const scene = plotPlan({
    ...plan,
    points: [
      [0, 0],
      [20, 10],
    ],
    hull: [
      {
        closed: true,
        points: [
          [0, 0],
          [20, 0],
          [20, 10],
        ],
      },
    ],
    groups: [
      {
        name: 'nails',
        points: [
          [10, 5],
          [Number.NaN, 1],
        ],
        style: 'class2',
      },
    ],
  });
  const [outline] = group(scene, 'window');
  const [sw, , ne] = corners(outline);
  expect(group(scene, 'finds').flatMap(corners)).toEqual([sw, ne]);
  expect(corners(group(scene, 'hull')[0])).toHaveLength(4);
  const nails = group(scene, 'nails').flatMap(corners);
  expect(nails).toHaveLength(1);
  expect(nails[0][0]).toBeCloseTo((sw[0] + ne[0]) / 2, 9);
  expect(nails[0][1]).toBeCloseTo((sw[1] + ne[1]) / 2, 9);
  expect(texts(scene)).toContain('nails, 1');
});

test('bands are named with their unit and cut to the frame; ground outside the window covers them', () => {
  const bands = [0, 2, 4].map((level) => ({
    level,
    rings: [
      [
        [-30, -30],
        [50, -30],
        [50, 40],
        [-30, 40],
      ] as Point[],
    ],
  }));
  const scene = plotPlan({ ...plan, bands, bandUnit: 'm-2', bandName: 'finds' });
  expect(texts(scene)).toEqual(expect.arrayContaining(['finds, 0 to 2 per m²', '2 to 4', '4 and more']));
  const names = scene.marks.flatMap((m) => (m.kind === 'group' ? [m.name] : []));
  expect(names.indexOf('bands')).toBeLessThan(names.indexOf('not dug'));
  const frame = group(scene, 'frame').flatMap(corners);
  const box = (points: readonly Point[]) => [
    Math.min(...points.map((p) => p[0])),
    Math.max(...points.map((p) => p[0])),
    Math.min(...points.map((p) => p[1])),
    Math.max(...points.map((p) => p[1])),
  ];
  const [left, right, top, bottom] = box(group(scene, 'bands').flatMap(corners));
  const [frameLeft, frameRight, frameTop, frameBottom] = box(frame);
  expect(left).toBeGreaterThan(frameLeft);
  expect(right).toBeLessThan(frameRight);
  expect(top).toBeGreaterThan(frameTop);
  expect(bottom).toBeLessThan(frameBottom);
});

test('norths are named in full, with their turn from site_north', () => {
  const norths = [
    { name: 'map_grid_north', fromSiteNorthDeg: -27.35 },
    { name: 'true_north', fromSiteNorthDeg: -28.1 },
  ];
  const words = texts(plotPlan({ ...plan, norths }));
  expect(words).toContain('site_north');
  expect(words).toContain('map_grid_north \u221227.35°');
  expect(words).toContain('true_north \u221228.1°');
});

test('a value that is not finite breaks a curve instead of moving it; steps hold until the next x', () => {
  const broken = plotCurves({
    ...curves,
    bands: [],
    curves: [{ name: 'broken', x: [0, 1, 2, 3, 4], y: [0, 1, Number.NaN, 1, 0], style: 'observed' }],
  });
  expect(group(broken, 'broken').map((m) => corners(m).length)).toEqual([2, 2]);
  const stepped = plotCurves({
    ...curves,
    bands: [],
    curves: [{ name: 'steps', x: [0, 1, 2], y: [0, 1, 3], style: 'class1', steps: true }],
  });
  const points = corners(group(stepped, 'steps')[0]);
  expect(points).toHaveLength(5);
  expect(points[1][1]).toBe(points[0][1]);
  expect(points[1][0]).toBe(points[2][0]);
});

test('curves lie between the ends of the axes, where their values say', () => {
  const scene = plotCurves({
    ...curves,
    bands: [],
    curves: [{ name: 'line', x: [0, 5, 10], y: [0, 5, 10], style: 'observed' }],
  });
  const [a, b, c] = corners(group(scene, 'line')[0]);
  expect(b[0] - a[0]).toBeCloseTo(c[0] - b[0], 9);
  expect(a[1] - b[1]).toBeCloseTo(b[1] - c[1], 9);
  expect(c[1]).toBeLessThan(a[1]);
});

test('curves of unequal length are a bug; nothing at all is an empty sheet', () => {
  expect(() => plotCurves({ ...curves, curves: [{ name: 'odd', x: [1, 2], y: [1], style: 'observed' }] })).toThrow(
    /odd/,
  );
  for (const scene of [
    plotCurves({ title: 'Nothing', xTitle: 'x', yTitle: 'y', curves: [], notes: [] }),
    plotPlan({ title: 'Nothing', window: [], notes: [] }),
    plotCurves({ ...curves, curves: [{ name: 'one', x: [3], y: [3], style: 'class8' }], bands: [] }),
  ]) {
    readXml(svgText(scene));
  }
});

test('names and notes that look like markup are only words', () => {
  for (const payload of payloads.filter((_, i) => i % 5 === 0)) {
    const drawn = [
      plotCurves({ ...curves, title: payload, notes: [payload], curves: [{ ...curves.curves[0], name: payload }] }),
      plotPlan({ ...plan, title: payload, pointsName: payload, notes: [payload] }),
    ];
    for (const scene of drawn) {
      const names = new Set(readXml(svgText(scene)).elements.map((e) => e.name));
      expect([...names].sort()).toEqual(['g', 'path', 'svg', 'text', 'title']);
    }
  }
});

test('hatching covers its ground evenly and leaves holes free', () => {
  const outer: Point[] = [
    [0, 0],
    [40, 0],
    [40, 30],
    [0, 30],
  ];
  const hole: Point[] = [
    [10, 10],
    [20, 10],
    [20, 20],
    [10, 20],
  ];
  for (const angleDeg of [0, 30, 45, -45, 90]) {
    const spacingMm = 0.5;
    const runs = hatching([outer, hole], { spacingMm, angleDeg, stroke: { colour: '#000', widthMm: 0.1 } }).map(
      corners,
    );
    const length = runs.reduce((sum, [a, b]) => sum + Math.hypot(b[0] - a[0], b[1] - a[1]), 0);
    expect((length * spacingMm) / (40 * 30 - 100)).toBeCloseTo(1, 1);
    for (const [a, b] of runs) {
      const along = uniformAt(angleDeg + a[0], 5);
      for (const t of along) {
        const [x, y] = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
        expect(x >= -1e-9 && x <= 40 + 1e-9 && y >= -1e-9 && y <= 30 + 1e-9).toBe(true);
        expect(x > 10 + 1e-9 && x < 20 - 1e-9 && y > 10 + 1e-9 && y < 20 - 1e-9).toBe(false);
      }
    }
  }
  expect(hatching([], { spacingMm: 1, angleDeg: 45, stroke: { colour: '#000', widthMm: 0.1 } })).toEqual([]);
});

test('lines are broken at spaces, long words inside, and no letter is lost', () => {
  const note = `K by translation correction doi:${'10.1111/'.repeat(12)} end`;
  const lines = wrapText(note, 40, 2.4);
  expect(lines.length).toBeGreaterThan(2);
  expect(lines.join('').replaceAll(' ', '')).toBe(note.replaceAll(' ', ''));
  expect(wrapText('   ', 40, 2.4)).toEqual([]);
});
