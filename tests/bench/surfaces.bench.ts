import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import depositSurface from '../../src/analyses/deposit-surface/index.js';
import type { Sample } from '../../src/domain/sample.js';
import { ordinaryKriging } from '../../src/math/kriging.js';
import { randomStream } from '../../src/math/random.js';
import type { VariogramModel } from '../../src/math/variogram.js';
import { openDemo } from '../support/demo.js';
import { readingsOf } from '../support/levelled-nodes.js';
import { sampleOf, windowOf } from '../support/sample-of.js';
import { askR } from './peers/ask-r.js';
import { median, type Row } from './row.js';

const width = 40;
const height = 25;
const readings = 1000;
const side = 200;

/** gstat computes this share of the cells and is taken times the rest, so that the bench ends the same day */
const peerShare = 10;
const peerLeftShare = 100;

const models: readonly { readonly model: VariogramModel; readonly code: string; readonly least: number }[] = [
  { model: { kind: 'spherical', nugget: 0.002, sill: 0.05, range: 8 }, code: 'Sph', least: 10 },
  { model: { kind: 'exponential', nugget: 0.002, sill: 0.05, range: 3 }, code: 'Exp', least: 4 },
  { model: { kind: 'gaussian', nugget: 0.002, sill: 0.05, range: 3 }, code: 'Gau', least: 4 },
];

/** Seeded levels over 40 × 25 m, as rough as a wreck mound. */
function seededLevels() {
  const random = randomStream(5, 0);
  const x = Float64Array.from({ length: readings }, () => Math.round(random.next() * width * 1000) / 1000);
  const y = Float64Array.from({ length: readings }, () => Math.round(random.next() * height * 1000) / 1000);
  const z = x.map((v, i) => 32 + 0.3 * Math.sin(v / 5) * Math.cos(y[i] / 4) + 0.05 * (random.next() - 0.5));
  return { x, y, z, sigma: new Float64Array(readings).fill(Number.NaN) };
}

function cellCentres(): Float64Array {
  const xy = new Float64Array(2 * side * side);
  for (let q = 0; q < side * side; q++) {
    xy[2 * q] = (((q % side) + 0.5) * width) / side;
    xy[2 * q + 1] = ((Math.floor(q / side) + 0.5) * height) / side;
  }
  return xy;
}

function timed(work: () => unknown): number {
  const start = performance.now();
  work();
  return performance.now() - start;
}

/** A peer with R asked about the same levels; null when R or gstat is not there. */
function askGstat(levels: ReturnType<typeof seededLevels>) {
  const folder = mkdtempSync(join(tmpdir(), 'wreckfield-bench-'));
  const file = join(folder, 'levels.csv');
  const lines = Array.from(levels.x, (x, i) => `${x},${levels.y[i]},${levels.z[i]}`);
  writeFileSync(file, `x,y,z\n${lines.join('\n')}\n`);
  return {
    milliseconds: (work: 'predict' | 'leave-one-out', { code, model }: (typeof models)[number], every: number) => {
      const numbers = [model.sill, model.range, model.nugget, width, height, side, every];
      return askR('kriging.R', [work, file, code, ...numbers.map(String)]);
    },
    close: () => rmSync(folder, { recursive: true, force: true }),
  };
}

/** Kriging with variance against gstat, leave-one-out, and the demo's surfaces with their contours and figures. */
export async function run(): Promise<Row[]> {
  const levels = seededLevels();
  const gstat = askGstat(levels);
  try {
    return [
      ...models.flatMap((asked) => krigingRows(levels, asked, gstat.milliseconds)),
      await demoSurfaces(),
      latticeSurface(),
    ];
  } finally {
    gstat.close();
  }
}

function krigingRows(
  levels: ReturnType<typeof seededLevels>,
  asked: (typeof models)[number],
  gstatMs: ReturnType<typeof askGstat>['milliseconds'],
): Row[] {
  const { model, least } = asked;
  const cells = cellCentres();
  const ours = median([0, 1, 2].map(() => timed(() => ordinaryKriging(levels, model).predict(cells))));
  const peer = gstatMs('predict', asked, peerShare);
  const ratio = peer === null ? null : peer / ours;
  const left = median([0, 1, 2].map(() => timed(() => ordinaryKriging(levels, model).leaveOneOut())));
  const peerLeft = gstatMs('leave-one-out', asked, peerLeftShare);
  return [
    {
      job: `kriging with variance, ${readings} levels to ${side} × ${side}, ${model.kind}`,
      peer: 'gstat',
      ours_ms: ours,
      peer_ms: peer,
      ratio,
      note: peer === null ? 'R with gstat is not installed here' : `one cell in ${peerShare} by gstat, scaled`,
      gate: `at least ${least} times as fast as gstat`,
      pass: ratio === null ? null : ratio >= least,
    },
    {
      job: `leave-one-out of ${readings} levels, ${model.kind}`,
      peer: 'gstat, solved anew for each',
      ours_ms: left,
      peer_ms: peerLeft,
      ratio: peerLeft === null ? null : peerLeft / left,
      note: `factorisation included${peerLeft === null ? '' : `; one level in ${peerLeftShare} by gstat, scaled`}`,
      gate: 'at most 1 s',
      pass: left <= 1000,
    },
  ];
}

async function demoSurfaces(): Promise<Row> {
  const demo = await openDemo();
  const surfaces = ['deposit_top', 'deposit_bottom', 'thickness'];
  try {
    const times: number[] = [];
    for (let k = 0; k < 7; k++) {
      const start = performance.now();
      for (const surface of surfaces) await demo.run('deposit-surface', { surface });
      times.push(performance.now() - start);
    }
    const ours = median(times.slice(2));
    return {
      job: 'demo, top, bottom and thickness: surface, contours, figure, three whole runs',
      peer: 'none',
      ours_ms: ours,
      peer_ms: null,
      ratio: null,
      note: 'all three together; sample taken anew for each',
      gate: 'at most 300 ms',
      pass: ours <= 300,
    };
  } finally {
    await demo.close();
  }
}

/** A full season of 41 × 26 intersections. */
function latticeSurface(): Row {
  const rows = Array.from({ length: 41 * 26 }, (_, k) => {
    const [x, y] = [k % 41, Math.floor(k / 41)];
    return { x, y, surface: 'deposit_top', elevation: -0.04 * x + 0.2 * Math.sin(y / 3), sigma: 0.02 };
  });
  const box = windowOf([
    [
      [
        [0, 0],
        [40, 0],
        [40, 25],
        [0, 25],
      ],
    ],
  ]);
  const sample: Sample = sampleOf([], box, { levels: readingsOf(rows) });
  const own = depositSurface.parameters.parse({});
  const control = { seed: 1, simulations: 0, draws: 1, progress: () => {} };
  const times = Array.from({ length: 5 }, () => timed(() => depositSurface.run(sample, own, control)));
  const ours = median(times.slice(1));
  return {
    job: 'full season, 41 × 26 nodes: bilinear surface, contours, figure',
    peer: 'none',
    ours_ms: ours,
    peer_ms: null,
    ratio: null,
    note: '',
    gate: 'at most 300 ms',
    pass: ours <= 300,
  };
}
