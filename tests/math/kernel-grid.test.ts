import { describe, expect, test } from 'vitest';
import { cellFrame, cellsInside } from '../../src/math/cell-frame.js';
import { kernelLattice, latticeOnGrid } from '../../src/math/kernel-grid.js';
import { type EdgeCorrection, type KernelInput, kernelIntensity } from '../../src/math/kernels.js';
import { contains, edgeSlack, insideEvenOdd, type Region, regionArea, regionBox } from '../../src/math/rings.js';
import { windowShares } from '../../src/math/window-shares.js';
import { patterns, readReference, rectangle, thinArms } from '../support/kernel-reference.js';
import { near, uniformScatter } from '../support/near.js';

const corrections: readonly EdgeCorrection[] = ['none', 'uniform', 'jones-diggle'];
const ones = (n: number) => new Float64Array(n).fill(1);

/** Largest difference between the grid and the full sum over all cells in the window, as a share of the peak. */
function strays(input: KernelInput, across: number): number {
  const [west, , east] = regionBox(input.window);
  const grid = cellFrame(input.window, (east - west) / across, 0);
  const inside = cellsInside(input.window, grid);
  const fast = latticeOnGrid(kernelLattice(input), grid);
  const cells = [...inside.keys()].filter((k) => inside[k] === 1);
  const at = cells.flatMap((k) => {
    const c = k % grid.columns;
    return [grid.x + c * grid.stepX, grid.y + ((k - c) / grid.columns) * grid.stepY];
  });
  const slow = kernelIntensity(input, Float64Array.from(at));
  let peak = 0;
  let worst = 0;
  cells.forEach((k, i) => {
    peak = Math.max(peak, slow[i]);
    worst = Math.max(worst, Math.abs(fast[k] - slow[i]));
  });
  return worst / peak;
}

describe.each(corrections)('the fast grid strays by less than 2e-4 of the peak, %s', (edge) => {
  test.each(patterns)('%s', (pattern) => {
    const { expected, xy, window } = readReference<{ sigma: number }>('kde', pattern);
    const input = { xy, weight: ones(xy.length / 2), window, sigmaM: expected.sigma, edge };
    expect(strays(input, 41.3)).toBeLessThan(2e-4);
  });

  test.each([0.15, 0.4, 1.1, 3, 12])('two thin arms, a slanting side and a hole, bandwidth %s m', (sigmaM) => {
    const xy = findsIn(thinArms, 120);
    expect(strays({ xy, weight: ones(xy.length / 2), window: thinArms, sigmaM, edge }, 61.7)).toBeLessThan(2e-4);
  });

  test('a single find, wherever it lies between nodes', () => {
    for (let i = 0; i < 8; i++) {
      const xy = Float64Array.of(3 + i * 0.0171, 4 + i * 0.0093);
      expect(strays({ xy, weight: ones(1), window: rectangle([0, 0, 8, 8]), sigmaM: 1, edge }, 33)).toBeLessThan(1e-4);
    }
  });
});

function findsIn(window: Region, n: number): Float64Array {
  const [, , east, north] = regionBox(window);
  const all = uniformScatter({ n: 4 * n, seed: 3, width: east, height: north });
  const slack = edgeSlack(window);
  const out: number[] = [];
  for (let i = 0; i < all.length; i += 2) {
    if (contains(window, all[i], all[i + 1], slack)) out.push(all[i], all[i + 1]);
  }
  // two in the arms and one on an edge, where a mask of cells would do worst
  return Float64Array.from([...out, 13, 3.1, 2.95, 10, 4, 0]);
}

describe('what the surface holds', () => {
  test.each(patterns)('as many as were counted with jones-diggle on %s', (pattern) => {
    const { expected, xy, window } = readReference<{ sigma: number }>('kde', pattern);
    const n = xy.length / 2;
    const input = { xy, weight: ones(n), window, sigmaM: expected.sigma, edge: 'jones-diggle' as const };
    near(kernelLattice(input).integral, n, { relative: 1e-5 });
  });

  test('with thin arms and a hole, and with weights', () => {
    const xy = findsIn(thinArms, 100);
    const weight = ones(xy.length / 2).map((_, i) => 1 + (i % 5));
    const total = weight.reduce((a, b) => a + b);
    for (const sigmaM of [0.15, 0.5, 2, 9]) {
      near(kernelLattice({ xy, weight, window: thinArms, sigmaM, edge: 'jones-diggle' }).integral, total, {
        relative: 1e-4,
      });
    }
  });

  test('uncorrected it loses what one find in a corner sends over the edge', () => {
    const input = { xy: Float64Array.of(0, 0), weight: ones(1), window: rectangle([0, 0, 30, 30]), sigmaM: 1 };
    near(kernelLattice({ ...input, edge: 'none' }).integral, 0.25, { relative: 1e-4 });
  });
});

test('cells far off the lattice have no value', () => {
  const input = {
    xy: Float64Array.of(1, 1),
    weight: ones(1),
    window: rectangle([0, 0, 2, 2]),
    sigmaM: 0.3,
    edge: 'none' as const,
  };
  const grid = { columns: 2, rows: 1, x: 1, y: 1, stepX: 50, stepY: -1 };
  const [near1, far] = latticeOnGrid(kernelLattice(input), grid);
  expect(near1).toBeGreaterThan(1);
  expect(far).toBeNaN();
});

test('a bandwidth far below what the window can show is refused with the least that can be asked', () => {
  const input = {
    xy: Float64Array.of(1, 1),
    weight: ones(1),
    window: rectangle([0, 0, 400, 300]),
    sigmaM: 0.01,
    edge: 'none' as const,
  };
  expect(() => kernelLattice(input)).toThrow(/bandwidth of 0.01 m in a window of 400 × 300 m .* at least \d/);
});

describe('window shares', () => {
  const lattice = { x: -1.03, y: -1.07, stepM: 0.31, columns: 55, rows: 45 };

  test('sum to the area, and weigh x and y as the window does', () => {
    const shares = windowShares(thinArms, lattice);
    let area = 0;
    let firstX = 0;
    shares.forEach((share, k) => {
      area += share;
      firstX += share * (lattice.x + (k % lattice.columns) * lattice.stepM);
    });
    near(area, regionArea(thinArms), { relative: 1e-12 });
    // ∫ x over a polygon from its corners
    let moment = 0;
    for (const ring of thinArms.rings) {
      for (let i = 0; i < ring.length; i += 2) {
        const j = (i + 2) % ring.length;
        moment += ((ring[i] + ring[j]) * (ring[i] * ring[j + 1] - ring[j] * ring[i + 1])) / 6;
      }
    }
    near(firstX, moment, { relative: 1e-12 });
  });

  test('equal a slow sum of bilinear weights over small cells', () => {
    const shares = windowShares(thinArms, lattice);
    const slow = new Float64Array(shares.length);
    const cell = 0.31 / 40;
    for (let x = lattice.x + cell / 2; x < 15; x += cell) {
      for (let y = lattice.y + cell / 2; y < 11.5; y += cell) {
        if (!insideEvenOdd(thinArms, x, y)) continue;
        const u = (x - lattice.x) / lattice.stepM;
        const v = (y - lattice.y) / lattice.stepM;
        const [c, r] = [Math.floor(u), Math.floor(v)];
        for (const [dc, dr] of [
          [0, 0],
          [1, 0],
          [0, 1],
          [1, 1],
        ]) {
          slow[(r + dr) * lattice.columns + c + dc] +=
            cell * cell * (1 - Math.abs(u - c - dc)) * (1 - Math.abs(v - r - dr));
        }
      }
    }
    let worst = 0;
    shares.forEach((share, k) => {
      worst = Math.max(worst, Math.abs(share - slow[k]));
    });
    expect(worst).toBeLessThan(0.02 * 0.31 * 0.31);
  });
});
