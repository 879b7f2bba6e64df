import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { findLattices, latticeOfGrid, latticePoint, type NodeLattice, squaresWith } from '../../src/math/lattice.js';
import { bilinearSurface, inGoodSquare } from '../../src/math/lattice-surface.js';
import { randomStream } from '../../src/math/random.js';
import { allNear, near } from '../support/near.js';

const { input, parameters, expected } = JSON.parse(
  readFileSync(new URL('../reference/grid_site_a_top.json', import.meta.url), 'utf8'),
);

interface Nodes {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  readonly sigma: Float64Array;
  readonly rank: Int32Array;
}

function nodesOf(list: readonly (readonly [number, number, number])[], rank = 0): Nodes {
  return {
    x: Float64Array.from(list, (p) => p[0]),
    y: Float64Array.from(list, (p) => p[1]),
    z: Float64Array.from(list, (p) => p[2]),
    sigma: new Float64Array(list.length).fill(0.02),
    rank: new Int32Array(list.length).fill(rank),
  };
}

const site: [number, number, number][] = (input.top as number[][]).flatMap((row, r) =>
  row.map((z, c): [number, number, number] => [c, r, z]),
);
const only = (nodes: Nodes): NodeLattice => {
  const { lattice } = latticeOfGrid(nodes, 1);
  if (lattice === null) throw new Error('no lattice');
  return lattice;
};

test('the values of the reference, between nodes and at corners of the grid', () => {
  const nodes = nodesOf(site);
  const { value } = bilinearSurface([only(nodes)], nodes, 'none')(Float64Array.from(parameters.query_points.flat()));
  allNear(value, expected.bilinear_top, { absolute: 1e-10 });
});

test('exact at nodes; half the random error in the middle of a square', () => {
  const nodes = nodesOf(site);
  const read = bilinearSurface([only(nodes)], nodes, 'none');
  const at = read(Float64Array.from(site.flatMap((p) => p.slice(0, 2))));
  allNear(at.value, nodes.z, { absolute: 0 });
  allNear(at.sigma, nodes.sigma, { absolute: 1e-15 });
  near(read(Float64Array.of(3.5, 2.5)).sigma[0], 0.01, { absolute: 1e-15 });
});

describe('a missing corner', () => {
  // the square from 0,0 with each corner missing in turn; the plane z = 1 + 2x + 3y
  const corners: [number, number][] = [
    [0, 0],
    [1, 0],
    [0, 1],
    [1, 1],
  ];
  const plane = (x: number, y: number) => 1 + 2 * x + 3 * y;
  test.each([0, 1, 2, 3])('corner %i: no value, or the plane of the three inside their triangle', (lost) => {
    const kept = corners.filter((_, i) => i !== lost);
    const nodes = nodesOf(kept.map(([x, y]) => [x, y, plane(x, y)]));
    const lattice = only(nodes);
    const [lx, ly] = corners[lost];
    const near3: [number, number] = [0.8 - 0.6 * lx, 0.8 - 0.6 * ly];
    const beyond: [number, number] = [0.2 + 0.6 * lx, 0.2 + 0.6 * ly];
    const none = bilinearSurface([lattice], nodes, 'none');
    const triangle = bilinearSurface([lattice], nodes, 'triangle');
    expect(none(Float64Array.of(...near3)).value[0]).toBeNaN();
    near(triangle(Float64Array.of(...near3)).value[0], plane(...near3), { absolute: 1e-12 });
    expect(triangle(Float64Array.of(...beyond)).value[0]).toBeNaN();
    // along the line between two nodes that are there, both rules know the value
    const [p, q] = kept.filter(([x]) => x !== lx);
    const half: [number, number] = [(p[0] + q[0]) / 2, 0.5];
    for (const read of [none, triangle])
      near(read(Float64Array.of(...half)).value[0], plane(...half), { absolute: 1e-12 });
    expect(inGoodSquare([lattice], ...beyond)).toBe(true);
    expect(inGoodSquare([lattice], 1.2, 0.5)).toBe(false);
  });

  test('two corners missing: no value by either rule, and not a good square', () => {
    const nodes = nodesOf([
      [0, 0, 1],
      [1, 0, 2],
      [2, 0, 2],
      [0, 1, 2],
    ]);
    const lattice = only(nodes);
    expect(bilinearSurface([lattice], nodes, 'triangle')(Float64Array.of(1.2, 0.2)).value[0]).toBeNaN();
    expect(inGoodSquare([lattice], 1.2, 0.2)).toBe(false);
    expect(squaresWith(lattice, 3)).toBe(1);
    expect(squaresWith(lattice, 4)).toBe(0);
  });
});

describe('a lattice found from the data alone', () => {
  const turned = (azimuthDeg: number, stepM: number, holes: number) => {
    const random = randomStream(17, Math.round(azimuthDeg));
    const a = (azimuthDeg * Math.PI) / 180;
    const out: [number, number, number][] = [];
    for (let r = 0; r < 21; r++) {
      for (let c = 0; c < 35; c++) {
        if (random.next() < holes) continue;
        const x = 412_037.4 + stepM * (c * Math.cos(a) - r * Math.sin(a));
        const y = 4_984_118.25 + stepM * (c * Math.sin(a) + r * Math.cos(a));
        out.push([Math.round(x * 1000) / 1000, Math.round(y * 1000) / 1000, 2 * c - 3 * r]);
      }
    }
    return nodesOf(out);
  };
  const numbers = (nodes: Nodes) => Array.from(nodes.x, (_, i) => i);

  test.each([
    [0, 1, 0],
    [27.35, 1, 0.3],
    [-44.9, 0.5, 0.3],
    [88, 2, 0.1],
  ])('turned by %f°, step %f m, a share of %f missing', (azimuth, stepM, holes) => {
    const nodes = turned(azimuth, stepM, holes);
    const { lattices, beside } = findLattices(nodes, numbers(nodes));
    expect(lattices).toHaveLength(1);
    expect(beside).toEqual([]);
    near(lattices[0].stepM, stepM, { absolute: 2e-4 });
    const { node, columns } = lattices[0];
    node.forEach((i, k) => {
      if (i < 0) return;
      const [x, y] = latticePoint(lattices[0], k % columns, Math.floor(k / columns));
      near(x, nodes.x[i], { absolute: 1e-3 });
      near(y, nodes.y[i], { absolute: 1e-3 });
    });
  });

  test('scattered readings are no lattice; three on a line, two and none neither', () => {
    const random = randomStream(2, 0);
    const scattered = nodesOf(Array.from({ length: 60 }, () => [12 * random.next(), 8 * random.next(), 0]));
    expect(findLattices(scattered, numbers(scattered)).lattices).toEqual([]);
    for (const list of [
      [],
      [[0, 0, 1]],
      [
        [0, 0, 1],
        [1, 0, 1],
      ],
      [
        [0, 0, 1],
        [1, 0, 1],
        [2, 0, 1],
        [3, 0, 1],
      ],
    ] as [number, number, number][][]) {
      const few = nodesOf(list);
      expect(findLattices(few, numbers(few)).lattices).toEqual([]);
    }
  });

  test('a re-laid grid is a second lattice, and its newer squares count where both have values', () => {
    const a = (0.18 * Math.PI) / 180;
    const first = site.map(([x, y]): [number, number, number] => [x, y, 0]);
    const second = site.slice(0, 60).map(([c, r]): [number, number, number] => {
      const x = 5.12 + c * Math.cos(a) - r * Math.sin(a);
      return [x, -0.07 + c * Math.sin(a) + r * Math.cos(a), 1];
    });
    const nodes = {
      ...nodesOf([...first, ...second]),
      rank: Int32Array.from([...first.map(() => 0), ...second.map(() => 2)]),
    };
    const { lattice, beside } = latticeOfGrid(nodes, 1);
    expect(beside).toHaveLength(second.length);
    const more = findLattices(nodes, beside);
    expect(more.lattices).toHaveLength(1);
    const both = [lattice as NodeLattice, ...more.lattices];
    for (const order of [both, [...both].reverse()]) {
      const { value } = bilinearSurface(order, nodes, 'none')(Float64Array.of(2, 2, 7, 2, 11.5, 7.5));
      allNear(value, [0, 1, 0], { absolute: 1e-12 });
    }
  });
});

test('outside the grid there is no value', () => {
  const nodes = nodesOf(site);
  const { value } = bilinearSurface([only(nodes)], nodes, 'triangle')(Float64Array.of(-0.001, 3, 12.001, 3, 3, 8.1));
  for (const v of value) expect(v).toBeNaN();
});
