import { cellFrame, cellsInside, framePlace } from '../../src/math/cell-frame.js';
import { edgeMass } from '../../src/math/kernel-edge.js';
import { kernelLattice, latticeOnGrid } from '../../src/math/kernel-grid.js';
import { kernelIntensity } from '../../src/math/kernels.js';
import { randomStream } from '../../src/math/random.js';
import type { Region } from '../../src/math/rings.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { median, type Row } from './row.js';

/** a dig limit of twenty corners, slightly concave, 40 m × 25 m */
const window: Region = {
  rings: [
    Float64Array.from(
      Array.from({ length: 20 }, (_, k) => {
        const angle = (2 * Math.PI * k) / 20;
        const reach = k % 2 === 0 ? 1 : 0.93;
        return [20 + 20 * reach * Math.cos(angle), 12.5 + 12.5 * reach * Math.sin(angle)];
      }).flat(),
    ),
  ],
};

/** Density on 1024 cells, 1,000 finds, edge-corrected, against the exact sum at a sample of the same cells. */
export async function run(): Promise<Row[]> {
  const n = 1000;
  const xy = new Float64Array(2 * n);
  uniformPoints(window)(xy, randomStream(3, 1));
  const input = { xy, weight: new Float64Array(n).fill(1), window, sigmaM: 1.5, edge: 'jones-diggle' as const };
  const frame = cellFrame(window, 40 / 1024, 0);
  const times: number[] = [];
  let surface = new Float64Array(0);
  for (let k = 0; k < 9; k++) {
    const start = performance.now();
    surface = latticeOnGrid(kernelLattice(input), frame) as Float64Array<ArrayBuffer>;
    times.push(performance.now() - start);
  }
  const inside = cellsInside(window, frame);
  const cells = Array.from(inside.keys()).filter((cell) => inside[cell] === 1);
  const probe = cells.filter((_, k) => k % Math.ceil(cells.length / 3000) === 0);
  const at = Float64Array.from(
    probe.flatMap((cell) => {
      return framePlace(frame, cell % frame.columns, Math.floor(cell / frame.columns));
    }),
  );
  const start = performance.now();
  const exact = kernelIntensity(input, at);
  const exactMs = ((performance.now() - start) / probe.length) * cells.length;
  edgeMass(window, input.sigmaM);
  const peak = Math.max(...exact);
  const error = Math.max(...probe.map((cell, k) => Math.abs(surface[cell] - exact[k]))) / peak;
  const ours = median(times);
  return [
    {
      job: 'density, 1,000 finds on 1024 cells a side, edge-corrected',
      peer: 'the exact sum at every cell',
      ours_ms: ours,
      peer_ms: exactMs,
      ratio: exactMs / ours,
      note: `largest error ${error.toExponential(1)} of the peak (exact time scaled from ${probe.length} cells)`,
      gate: '≤ 60 ms and error ≤ 2e-4 of the peak',
      pass: ours <= 60 && error <= 2e-4,
    },
  ];
}
