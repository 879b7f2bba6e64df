import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { bilinear, type Corners, splitAtZero, splitTriangles, wholeCell } from '../../src/math/bilinear-cell.js';
import { convexPieces } from '../../src/math/convex-polygons.js';
import { cellLattices, cellParts, wholeCells } from '../../src/math/level-cells.js';
import { randomStream } from '../../src/math/random.js';
import { orientRings } from '../../src/math/rings.js';
import { areaAtLeast, randomVolumeError, thicknessVolume } from '../../src/math/thickness-volume.js';
import { near } from '../support/near.js';

const reference = JSON.parse(readFileSync(new URL('../reference/grid_site_a_top.json', import.meta.url), 'utf8')) as {
  input: { top: number[][]; bottom: number[][] };
  expected: {
    volume: Record<string, unknown>;
    volume_with_missing_nodes: Record<string, unknown>;
    volume_trapezoid_2d_weights: number;
  };
};

/** nodes of a field on a lattice; row by row from the south */
function nodesOf(spec: {
  columns: number;
  rows: number;
  step?: number;
  rowStep?: number;
  turnDeg?: number;
  at?: readonly [number, number];
  t: (u: number, v: number) => number;
}) {
  const { columns, rows, step = 1, rowStep = step, turnDeg = 0, at = [0, 0], t } = spec;
  const turn = (turnDeg * Math.PI) / 180;
  const x: number[] = [];
  const y: number[] = [];
  const z: number[] = [];
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const value = t(c, r);
      if (Number.isNaN(value)) continue;
      x.push(at[0] + c * step * Math.cos(turn) - r * rowStep * Math.sin(turn));
      y.push(at[1] + c * step * Math.sin(turn) + r * rowStep * Math.cos(turn));
      z.push(value);
    }
  }
  return { x: Float64Array.from(x), y: Float64Array.from(y), z: Float64Array.from(z) };
}

function volumeOf(nodes: ReturnType<typeof nodesOf>, ring?: readonly number[]) {
  const { lattices } = cellLattices(nodes, null);
  expect(lattices).toHaveLength(1);
  const [lattice] = lattices;
  const parts = ring ? cellParts(lattice, convexPieces(orientRings([[Float64Array.from(ring)]]))) : wholeCells(lattice);
  return thicknessVolume({ lattice, thickness: nodes.z }, parts);
}

const difference = (without: readonly (readonly [number, number])[] = []) =>
  nodesOf({
    columns: 13,
    rows: 9,
    t: (c, r) =>
      without.some(([row, column]) => row === r && column === c)
        ? Number.NaN
        : reference.input.top[r][c] - reference.input.bottom[r][c],
  });

describe.each([
  ['all nodes', difference(), reference.expected.volume],
  [
    'three nodes missing',
    difference([
      [0, 0],
      [3, 4],
      [8, 12],
    ]),
    reference.expected.volume_with_missing_nodes,
  ],
] as const)('against the reference, %s', (_, nodes, expected) => {
  const sums = volumeOf(nodes);
  const swNe = expected['triangles_diagonal_SW_NE'] as Record<string, number>;
  const seNw = expected['triangles_diagonal_SE_NW'] as Record<string, number>;

  test('mean of four corners, its positive and negative parts, and both triangular prisms', () => {
    expect(sums.cells).toBe(expected['cells_used']);
    near(sums.volumeM3, expected['cell_mean_prism'] as number, { relative: 1e-10 });
    near(sums.positiveM3, expected['bilinear_positive'] as number, { relative: 1e-10 });
    near(sums.negativeM3, expected['bilinear_negative'] as number, { relative: 1e-8 });
    near(sums.prismsSwNeM3, swNe['net'], { relative: 1e-10 });
    near(sums.prismsSeNwM3, seNw['net'], { relative: 1e-10 });
  });

  test('the prisms part at the zero line', () => {
    const { lattices } = cellLattices(nodes, null);
    const { columns, node } = lattices[0];
    for (const [diagonal, own] of [
      ['sw-ne', swNe],
      ['se-nw', seNw],
    ] as const) {
      let [positive, negative] = [0, 0];
      for (const { column, row } of wholeCells(lattices[0])) {
        const at = [0, 1, columns, columns + 1].map((k) => node[row * columns + column + k]);
        if (at.some((k) => k < 0)) continue;
        const [sw, se, nw, ne] = at.map((k) => nodes.z[k]);
        const split = splitTriangles({ sw, se, nw, ne }, wholeCell, diagonal);
        positive += split.positive;
        negative += split.negative;
      }
      near(positive, own['positive'], { relative: 1e-10 });
      near(negative, own['negative'], { absolute: 1e-14 });
    }
  });
});

describe('closed forms', () => {
  test('prism, wedge and plane: area times mean depth', () => {
    near(volumeOf(nodesOf({ columns: 6, rows: 4, t: () => 0.4 })).volumeM3, 15 * 0.4, { relative: 1e-14 });
    near(volumeOf(nodesOf({ columns: 11, rows: 3, t: (u) => u / 10 })).volumeM3, 20 * 0.5, { relative: 1e-14 });
    const plane = volumeOf(nodesOf({ columns: 5, rows: 7, step: 0.5, t: (u, v) => 0.3 + 0.02 * u - 0.01 * v }));
    near(plane.volumeM3, 2 * 3 * (0.3 + 0.02 * 2 - 0.01 * 3), { relative: 1e-14 });
    near(plane.prismsSwNeM3, plane.volumeM3, { relative: 1e-13 });
    near(plane.prismsSeNwM3, plane.volumeM3, { relative: 1e-13 });
  });

  test('a pyramid that has its ridges on the diagonals of the squares, as triangular prisms', () => {
    // height 1 in the middle of a 4 × 4 m base: a third of base times height
    const height = (u: number, v: number) => 1 - Math.max(Math.abs(u - 2), Math.abs(v - 2)) / 2;
    const nodes = nodesOf({ columns: 5, rows: 5, t: height });
    const quarter = (ring: number[]) => volumeOf(nodes, ring);
    // the ridge runs south-west to north-east in two of the four quarters, across in the others
    const sum =
      quarter([0, 0, 2, 0, 2, 2, 0, 2]).prismsSwNeM3 +
      quarter([2, 2, 4, 2, 4, 4, 2, 4]).prismsSwNeM3 +
      quarter([2, 0, 4, 0, 4, 2, 2, 2]).prismsSeNwM3 +
      quarter([0, 2, 2, 2, 2, 4, 0, 4]).prismsSeNwM3;
    near(sum, 16 / 3, { relative: 1e-13 });
    // bilinear squares round the ridges off: nodes alone give the trapezoid sum
    near(
      volumeOf(nodes).volumeM3,
      [...nodes.z].reduce((a, b) => a + b, 0),
      { relative: 1e-13 },
    );
  });

  test('oblong, turned and far-away grids', () => {
    const t = (u: number, v: number) => 0.2 + 0.03 * u + 0.01 * u * v;
    const plain = volumeOf(nodesOf({ columns: 6, rows: 5, t })).volumeM3;
    near(volumeOf(nodesOf({ columns: 6, rows: 5, rowStep: 2.5, t })).volumeM3, 2.5 * plain, { relative: 1e-12 });
    near(volumeOf(nodesOf({ columns: 6, rows: 5, step: 0.5, turnDeg: 27.35, t })).volumeM3, plain / 4, {
      relative: 1e-9,
    });
    near(volumeOf(nodesOf({ columns: 6, rows: 5, at: [412037.4, 4984118.25], t })).volumeM3, plain, {
      relative: 1e-9,
    });
  });

  test('a wedge through zero parts into two triangles of equal size', () => {
    const sums = volumeOf(nodesOf({ columns: 4, rows: 3, t: (u) => u - 1.5 }));
    near(sums.positiveM3, 2 * 1.125, { relative: 1e-13 });
    near(sums.negativeM3, -2 * 1.125, { relative: 1e-13 });
    near(sums.volumeM3, 0, { absolute: 1e-14 });
  });
});

describe('laws', () => {
  const random = randomStream(11, 3);
  const bumpy = nodesOf({ columns: 9, rows: 7, t: () => random.next() - 0.4 });

  test('top and bottom swapped change the sign of everything', () => {
    const turned = { ...bumpy, z: bumpy.z.map((v) => -v) };
    const [a, b] = [volumeOf(bumpy), volumeOf(turned)];
    near(b.volumeM3, -a.volumeM3, { absolute: 1e-13 });
    near(b.positiveM3, -a.negativeM3, { relative: 1e-12 });
    near(b.negativeM3, -a.positiveM3, { relative: 1e-12 });
  });

  test('ground cut in two by a slanting line, or a square cut in pieces, adds up to the whole', () => {
    const whole = volumeOf(bumpy, [0, 0, 8, 0, 8, 6, 0, 6]);
    const left = volumeOf(bumpy, [0, 0, 3.3, 0, 5.1, 6, 0, 6]);
    const right = volumeOf(bumpy, [3.3, 0, 8, 0, 8, 6, 5.1, 6]);
    for (const name of ['volumeM3', 'positiveM3', 'negativeM3', 'prismsSwNeM3', 'measuredM2'] as const) {
      near(left[name] + right[name], whole[name], { absolute: 1e-12 });
    }
    near(whole.volumeM3, volumeOf(bumpy).volumeM3, { absolute: 1e-13 });
    const finer = nodesOf({
      columns: 17,
      rows: 13,
      step: 0.5,
      t: (c, r) => {
        const [u, v] = [Math.min(Math.floor(c / 2), 7), Math.min(Math.floor(r / 2), 5)];
        const at = (k: number, l: number) => bumpy.z[(v + l) * 9 + u + k];
        return bilinear({ sw: at(0, 0), se: at(1, 0), nw: at(0, 1), ne: at(1, 1) }, c / 2 - u, r / 2 - v);
      },
    });
    near(volumeOf(finer).volumeM3, volumeOf(bumpy).volumeM3, { absolute: 1e-12 });
    near(volumeOf(finer).positiveM3, volumeOf(bumpy).positiveM3, { absolute: 1e-12 });
  });

  test('each node stands for its ground: shares times thickness is the volume, shares sum to the area', () => {
    const sums = volumeOf(bumpy, [0.4, 0.3, 6.9, 1.7, 4.2, 5.5]);
    near(
      sums.shares.reduce((sum, share, i) => sum + share * bumpy.z[i], 0),
      sums.volumeM3,
      { absolute: 1e-13 },
    );
    near(
      sums.shares.reduce((a, b) => a + b, 0),
      sums.measuredM2,
      { relative: 1e-12 },
    );
  });

  test('ground beyond the nodes is counted, not filled', () => {
    const { lattices } = cellLattices(bumpy, null);
    const beyond = { areaM2: 0 };
    const pieces = convexPieces(orientRings([[Float64Array.of(-1, 0, 8, 0, 8, 6, -1, 6)]]));
    const sums = thicknessVolume({ lattice: lattices[0], thickness: bumpy.z }, cellParts(lattices[0], pieces, beyond));
    near(beyond.areaM2, 6, { relative: 1e-12 });
    near(sums.areaM2, 48, { relative: 1e-12 });
  });
});

describe('slow twins', () => {
  test('positive part and its area, against a fine grid of the cell and its part', () => {
    const random = randomStream(5, 1);
    for (let k = 0; k < 25; k++) {
      const value = () => random.next() - 0.5;
      const t: Corners = { sw: value(), se: value(), nw: value(), ne: value() };
      const polygon = k % 2 === 0 ? wholeCell : [0.1, 0.2, 0.9, 0.05, 0.7, 0.95];
      const split = splitAtZero(t, polygon);
      const inside = (u: number, v: number) => {
        for (let i = 0, j = polygon.length - 2; i < polygon.length; j = i, i += 2) {
          const cross =
            (polygon[i] - polygon[j]) * (v - polygon[j + 1]) - (polygon[i + 1] - polygon[j + 1]) * (u - polygon[j]);
          if (cross < 0) return false;
        }
        return true;
      };
      let [volume, area] = [0, 0];
      const m = 400;
      for (let i = 0; i < m; i++) {
        for (let j = 0; j < m; j++) {
          const [u, v] = [(i + 0.5) / m, (j + 0.5) / m];
          const height = bilinear(t, u, v);
          if (height > 0 && inside(u, v)) {
            volume += height / (m * m);
            area += 1 / (m * m);
          }
        }
      }
      near(split.positive, volume, { absolute: 6e-4 });
      near(split.positiveArea, area, { absolute: 2.5e-3 });
    }
  });

  test('a saddle through its own middle parts into four equal quarters', () => {
    // t = (u − ½)(v − ½): positive in two quarters, ∫ = 2 · (1/8)²
    const t = { sw: 0.25, se: -0.25, nw: -0.25, ne: 0.25 };
    near(splitAtZero(t, wholeCell).positive, 2 / 64, { relative: 1e-13 });
    near(splitAtZero(t, wholeCell).positiveArea, 0.5, { relative: 1e-13 });
  });

  test('what an isopach encloses: a cone of a plane is a strip', () => {
    const nodes = nodesOf({ columns: 5, rows: 3, t: (u) => 0.1 * u });
    const { lattices } = cellLattices(nodes, null);
    const at = (levelM: number) =>
      areaAtLeast({ lattice: lattices[0], thickness: nodes.z }, wholeCells(lattices[0]), levelM);
    near(at(0), 8, { relative: 1e-13 });
    near(at(0.15), 5, { relative: 1e-12 });
    near(at(0.4), 0, { absolute: 1e-12 });
  });
});

test('ten by ten squares with 30 mm random error a level: 0.40 m³', () => {
  const nodes = nodesOf({ columns: 11, rows: 11, t: () => 0.3 });
  const { shares, measuredM2 } = volumeOf(nodes);
  const sigma = new Float64Array(121).fill(Math.sqrt(0.03 ** 2 + 0.03 ** 2));
  near(sigma[0], 0.0424, { absolute: 5e-5 });
  near(randomVolumeError(shares, sigma), 0.4, { absolute: 0.005 });
  near(0.03 * measuredM2, 3, { relative: 1e-12 });
});
