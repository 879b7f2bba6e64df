import { describe, expect, test } from 'vitest';
import { cellFrame, framePlace } from '../../src/math/cell-frame.js';
import type { CellMesh } from '../../src/math/cell-mesh.js';
import { cellsWhere, meshOfFrame, meshOfLattices, meshOfTriangles, noCorner } from '../../src/math/cell-mesh.js';
import { isobands, isolines } from '../../src/math/isolines.js';
import { latticeOfGrid, type NodeLattice } from '../../src/math/lattice.js';
import { bilinearSurface } from '../../src/math/lattice-surface.js';
import { randomStream } from '../../src/math/random.js';
import { ringArea } from '../../src/math/rings.js';
import { triangleMesh } from '../../src/math/triangle-mesh.js';
import { near } from '../support/near.js';

const area = (rings: readonly Float64Array[]) => rings.reduce((sum, ring) => sum + ringArea(ring), 0);

function frameMesh(z: (x: number, y: number) => number, cellM = 0.25): CellMesh {
  const frame = cellFrame({ rings: [Float64Array.of(0, 0, 8, 0, 8, 6, 0, 6)] }, cellM, 0);
  const values = new Float64Array(frame.columns * frame.rows);
  for (let k = 0; k < values.length; k++) {
    const [x, y] = framePlace(frame, k % frame.columns, Math.floor(k / frame.columns));
    values[k] = z(x, y);
  }
  return meshOfFrame(frame, values);
}

describe('lines of a plane are straight', () => {
  const plane = (x: number, y: number) => 2 - 0.1 * x + 0.05 * y;
  const nodes = (() => {
    const list = Array.from({ length: 9 * 7 }, (_, k): [number, number] => [k % 9, Math.floor(k / 9)]);
    return {
      x: Float64Array.from(list, (p) => p[0]),
      y: Float64Array.from(list, (p) => p[1]),
      z: Float64Array.from(list, (p) => plane(...p)),
      sigma: new Float64Array(list.length),
      rank: new Int32Array(list.length),
    };
  })();
  const lattice = latticeOfGrid(nodes, 1).lattice as NodeLattice;
  const read = bilinearSurface([lattice], nodes, 'none');
  const meshes: [string, CellMesh][] = [
    ['raster', frameMesh(plane)],
    ['triangles', meshOfTriangles(triangleMesh(nodes.x, nodes.y), nodes)],
    ['lattice', meshOfLattices([lattice], { read, missingCorner: 'none', parts: 4 })],
  ];
  test.each(meshes)('%s', (_, mesh) => {
    const levels = [1.5, 1.6, 1.7333, 2, 2.1];
    const lines = isolines(mesh, levels);
    expect(lines.map((line) => line.level)).toEqual(levels);
    for (const { level, points } of lines) {
      expect(points).toHaveLength(4);
      for (let i = 0; i < points.length; i += 2) near(plane(points[i], points[i + 1]), level, { absolute: 1e-12 });
      // higher ground, towards the west, lies left of the line
      expect(points[3] - points[1]).toBeGreaterThan(0);
    }
    expect(isolines(mesh, [0.5, 2.5])).toEqual([]);
  });
});

test('lines pass through nodes that have the level, and close round a mound', () => {
  const mesh = frameMesh((x, y) => 1 - ((x - 4) ** 2 + (y - 3) ** 2) / 16);
  const [line] = isolines(mesh, [0.75]);
  const { points } = line;
  expect([points[0], points[1]]).toEqual([points[points.length - 2], points[points.length - 1]]);
  for (let i = 0; i < points.length; i += 2) near(Math.hypot(points[i] - 4, points[i + 1] - 3), 2, { absolute: 0.005 });
  // anticlockwise round high ground
  expect(ringArea(points.slice(0, -2))).toBeGreaterThan(12);
  const exact = isolines(
    {
      x: Float64Array.of(0, 1, 1, 0),
      y: Float64Array.of(0, 0, 1, 1),
      z: Float64Array.of(5, 6, 5, 4),
      corners: Uint32Array.of(0, 1, 2, 3),
    },
    [5],
  );
  expect(exact).toHaveLength(1);
  expect([...exact[0].points].sort()).toEqual([0, 0, 1, 1]);
});

describe('seeded rough ground', () => {
  const random = randomStream(12, 0);
  const rough = frameMesh(() => random.next(), 0.5);
  const cells = rough.corners.length / 4;
  const levels = [-1, 0.2, 0.4, 0.41, 0.7, 0.95];

  test('bands share out the ground without gap or overlap, and each is as large as its cells say', () => {
    const bands = isobands(rough, levels);
    near(
      bands.reduce((sum, band) => sum + area(band.rings), 0),
      cells * 0.25,
      { absolute: 1e-9 },
    );
    for (const [k, { rings }] of bands.entries()) {
      // the slow twin: every cell cut into many small ones, bilinear in its four triangles or corners
      const share = areaBetween(rough, levels[k], levels[k + 1] ?? Infinity);
      near(area(rings), share, { absolute: 0.02 * cells * 0.25 });
    }
  });

  test('every line ends at the edge or in itself, and no side is crossed twice by one level', () => {
    for (const { points } of isolines(rough, levels.slice(1))) {
      const n = points.length;
      const isClosed = points[0] === points[n - 2] && points[1] === points[n - 1];
      const atEdge = (i: number) =>
        [0.25, 7.75].some((x) => Math.abs(points[i] - x) < 1e-9) ||
        [0.25, 5.75].some((y) => Math.abs(points[i + 1] - y) < 1e-9);
      expect(isClosed || (atEdge(0) && atEdge(n - 2))).toBe(true);
    }
  });
});

/** ground with level ≤ z < upper by small squares read linearly in the four triangles about each cell's middle */
function areaBetween({ x, y, z, corners }: CellMesh, level: number, upper: number): number {
  let count = 0;
  const parts = 24;
  let cells = 0;
  for (let k = 0; k < corners.length; k += 4) {
    cells++;
    const [a, b, c, d] = corners.subarray(k, k + 4);
    // a north-west, b south-west, c south-east, d north-east; other than at saddles the cut is near enough
    for (let i = 0; i < parts; i++) {
      for (let j = 0; j < parts; j++) {
        const u = (i + 0.5) / parts;
        const v = (j + 0.5) / parts;
        const value = (1 - u) * (1 - v) * z[b] + u * (1 - v) * z[c] + (1 - u) * v * z[a] + u * v * z[d];
        if (value >= level && value < upper) count++;
      }
    }
    expect(x[b]).toBe(x[a]);
    expect(y[b]).toBeLessThan(y[a]);
  }
  return (count / (cells * parts * parts)) * cells * 0.25;
}

test('ground left out of a mesh has no lines and no bands; a hole is a ring of its own', () => {
  const mesh = cellsWhere(
    frameMesh((x) => x, 0.5),
    (x, y) => Math.hypot(x - 4, y - 3) > 1.2,
  );
  const [band] = isobands(mesh, [-1]);
  expect(band.rings).toHaveLength(2);
  expect(band.rings.filter((ring) => ringArea(ring) < 0)).toHaveLength(1);
  expect(isolines(mesh, [4.1])).toHaveLength(2);
});

test('a square with three nodes is drawn in half, or not at all', () => {
  const nodes = {
    x: Float64Array.of(0, 1, 0, 2, 2, 1),
    y: Float64Array.of(0, 0, 1, 0, 1, 1),
    z: Float64Array.of(0, 1, 1, 1, 3, 2),
    sigma: new Float64Array(6),
    rank: new Int32Array(6),
  };
  const without = { ...nodes, x: nodes.x.slice(0, 5), y: nodes.y.slice(0, 5), z: nodes.z.slice(0, 5) };
  const lattice = latticeOfGrid(without, 1).lattice as NodeLattice;
  const size = (missingCorner: 'none' | 'triangle') => {
    const read = bilinearSurface([lattice], without, missingCorner);
    const [band] = isobands(meshOfLattices([lattice], { read, missingCorner, parts: 4 }), [-9]);
    return area(band.rings);
  };
  near(size('none'), 0, { absolute: 1e-12 });
  near(size('triangle'), 1, { absolute: 1e-12 });
});

test('nothing to draw', () => {
  const nothing = {
    x: new Float64Array(0),
    y: new Float64Array(0),
    z: new Float64Array(0),
    corners: new Uint32Array(0),
  };
  expect(isolines(nothing, [1])).toEqual([]);
  expect(isobands(nothing, [1])).toEqual([{ level: 1, rings: [] }]);
  const one = {
    x: Float64Array.of(0, 1, 0),
    y: Float64Array.of(0, 0, 1),
    z: Float64Array.of(1, 1, 1),
    corners: Uint32Array.of(0, 1, 2, noCorner),
  };
  expect(isolines(one, [1])).toEqual([]);
});
