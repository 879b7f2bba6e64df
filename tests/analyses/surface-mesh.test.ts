import { describe, expect, test } from 'vitest';
import type { Analysis } from '../../src/analyses/contract.js';
import depositSurface from '../../src/analyses/deposit-surface/index.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import { trianglesOf } from '../../src/domain/surface-mesh.js';
import { noCorner } from '../../src/math/cell-mesh.js';
import { answerOutputs } from '../../src/operations/answer-outputs.js';
import { answerFromParts, answerParts } from '../../src/operations/answer-parts.js';
import { readingsOf } from '../support/levelled-nodes.js';
import { allNear, near } from '../support/near.js';
import { sampleOf, windowOf } from '../support/sample-of.js';

const analysis = depositSurface as unknown as Analysis;
const window = windowOf([
  [
    [
      [0, 0],
      [4, 0],
      [4, 3],
      [0, 3],
    ],
  ],
]);
/** 5 × 4 nodes, z = −31 + 0.1 x y, the north-east node never levelled */
const rows = Array.from({ length: 20 }, (_, k) => [k % 5, Math.floor(k / 5)] as const)
  .filter(([x, y]) => x !== 4 || y !== 3)
  .map(([x, y]) => ({ x, y, surface: 'deposit_top', elevation: -31 + 0.1 * x * y, sigma: 0.02 }));
const sample = sampleOf([], window, { levels: readingsOf(rows), verticalDatum: 'zero on pin CP1' });

function run(inputs: Record<string, unknown>, of = sample) {
  const answer = executeAnalysis(analysis, of, checkInputs(analysis, inputs), () => {});
  return { ...answer, summary: depositSurface.result.parse(answer.summary) };
}

interface MeshText {
  readonly type: string;
  readonly coordinate_space: string;
  readonly third_coordinate: string;
  readonly features: readonly {
    readonly geometry: { readonly type: string; readonly coordinates: readonly (readonly (readonly number[])[])[] };
    readonly properties: Record<string, unknown>;
  }[];
}
const meshText = (answer: ReturnType<typeof run>) => {
  const outputs = answerOutputs(answerFromParts(answerParts(answer)), null);
  const output = outputs.get('mesh');
  return output && 'value' in output ? (output.value as MeshText) : null;
};

describe('the surface in space', () => {
  test('is given only when asked for', () => {
    expect(run({}).mesh).toBeUndefined();
    expect(run({}).summary.mesh_cells).toBeNull();
    expect(meshText(run({}))).toBeNull();
    expect(run({ mesh: 'quads', at: [[1, 1]] }).mesh).toBeUndefined();
  });

  test('has a quad for each square, its corners the nodes with their values, anticlockwise', () => {
    const answer = run({ mesh: 'quads' });
    const text = meshText(answer);
    // 12 squares less the one that lacks a node
    expect(answer.summary.mesh_cells).toBe(11);
    expect(text).toMatchObject({ type: 'FeatureCollection', coordinate_space: 'site-grid' });
    expect(text?.third_coordinate).toBe('elevation, m, up-positive, in zero on pin CP1');
    for (const { geometry, properties } of text?.features ?? []) {
      const [ring] = geometry.coordinates;
      expect(ring).toHaveLength(5);
      expect(ring[4]).toEqual(ring[0]);
      let twice = 0;
      for (let i = 0; i < 4; i++) {
        const [x, y, z] = ring[i];
        expect([x % 1, y % 1]).toEqual([0, 0]);
        near(z, -31 + 0.1 * x * y, { absolute: 1e-6 });
        twice += x * ring[i + 1][1] - ring[i + 1][0] * y;
      }
      near(twice / 2, 1, { absolute: 1e-9 });
      expect(properties).toMatchObject({ mean_sigma_m: 0.02, beyond_nodes: false });
    }
  });

  test('a square of three nodes becomes their triangle where that was chosen', () => {
    const answer = run({ mesh: 'quads', missing_corner: 'triangle' });
    expect(answer.summary.mesh_cells).toBe(12);
    expect(meshText(answer)?.features.filter(({ geometry }) => geometry.coordinates[0].length === 4)).toHaveLength(1);
  });

  test('triangles are cut from south-west to north-east and cover the same ground', () => {
    const { mesh, summary } = run({ mesh: 'triangles' });
    expect(summary.mesh_cells).toBe(22);
    if (!mesh) throw new Error('no mesh');
    let area = 0;
    for (let k = 0; k < mesh.corners.length; k += 4) {
      const [a, b, c, d] = mesh.corners.subarray(k, k + 4);
      expect(d).toBe(noCorner);
      area +=
        ((mesh.x[b] - mesh.x[a]) * (mesh.y[c] - mesh.y[a]) - (mesh.x[c] - mesh.x[a]) * (mesh.y[b] - mesh.y[a])) / 2;
      const lengths = [
        [a, b],
        [b, c],
        [c, a],
      ].map(([p, q]) => [mesh.x[q] - mesh.x[p], mesh.y[q] - mesh.y[p]]);
      const [dx, dy] = lengths.find((side) => Math.hypot(...side) > 1.2) ?? [0, 0];
      near(dx * dy, 1, { absolute: 1e-9 });
    }
    near(area, 11, { absolute: 1e-9 });
    expect([...trianglesOf(Uint32Array.of(4, 5, 6, 7))]).toEqual([4, 5, 6, noCorner, 4, 6, 7, noCorner]);
  });

  test('a triangulation gives its own triangles; values asked for beyond the nodes are flagged', () => {
    expect(run({ method: 'tin', mesh: 'quads' }).summary.mesh_cells).toBe(23);
    const far = windowOf([
      [
        [
          [0, 0],
          [6, 0],
          [6, 3],
          [0, 3],
        ],
      ],
    ]);
    const wide = run(
      { method: 'inverse-distance', mask: 'none', mesh: 'quads', cell_m: 0.5 },
      { ...sample, window: far },
    );
    const { mesh, coverage, summary } = wide;
    if (!mesh || !coverage?.beyond) throw new Error('no mesh, or no flag in the raster');
    expect(mesh.beyond.some((flag) => flag === 1)).toBe(true);
    for (let k = 0; k < mesh.beyond.length; k++) {
      const own = [...mesh.corners.subarray(4 * k, 4 * k + 4)];
      const middle = own.reduce((sum, i) => sum + mesh.x[i] / 4, 0);
      if (middle > 4.1) expect(mesh.beyond[k]).toBe(1);
      if (middle < 2.9) expect(mesh.beyond[k]).toBe(0);
    }
    const flagged = coverage.beyond.reduce((sum, flag) => sum + (flag === 1 ? 1 : 0), 0);
    near(summary.area_beyond_nodes_m2, flagged * 0.25, { absolute: 1e-9 });
    expect(flagged).toBeGreaterThan(10);
    expect(run({}).coverage?.beyond).toBeUndefined();
  });

  test('a thickness is told as one', () => {
    const both = readingsOf([...rows, ...rows.map((r) => ({ ...r, surface: 'deposit_bottom', elevation: -31.5 }))]);
    const { mesh } = run({ surface: 'thickness', mesh: 'quads' }, { ...sample, levels: both });
    expect(mesh?.valueName).toBe('thickness, m');
    allNear(mesh?.z.map((z, i) => z - 0.1 * (mesh.x[i] * mesh.y[i])) ?? [], new Array(19).fill(0.5), {
      absolute: 1e-9,
    });
  });
});

test('cells along the site grid are the same surface, turned with the grid', () => {
  const turned = { ...sample, mapAzimuthDeg: 27 };
  const { coverage, methods } = run({ cells_along: 'site_grid', cell_m: 0.25 }, turned);
  expect(methods).toContain('along the site grid');
  if (!coverage) throw new Error('no surface');
  allNear([...coverage.columnStep, ...coverage.rowStep], [0.25, 0, 0, -0.25], { absolute: 1e-12 });
  const { corner, columns } = coverage;
  let known = 0;
  coverage.values.forEach((z, k) => {
    if (Number.isNaN(z)) return;
    known++;
    const x = corner[0] + ((k % columns) + 0.5) * 0.25;
    const y = corner[1] - (Math.floor(k / columns) + 0.5) * 0.25;
    near(z, -31 + 0.1 * x * y, { absolute: 1e-5 });
  });
  expect(known).toBe(11 * 16);
  expect(run({}, turned).coverage?.columnStep[1]).not.toBe(0);
});
