import { isotropicBySteps, kFunctions, type PairPattern } from '../../src/math/k-function.js';
import { simulate } from '../../src/math/monte-carlo.js';
import { radiiOf } from '../../src/math/radii.js';
import { randomStream } from '../../src/math/random.js';
import { type Region, regionArea } from '../../src/math/rings.js';
import { setCovariance, tabulated } from '../../src/math/set-covariance.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { askR } from './peers/ask-r.js';
import { median, type Row } from './row.js';

const reachM = 6.25;

/** A dig limit of 20 corners, a little hollow, 40 m by 25 m. */
const digLimit: Region = {
  rings: [
    Float64Array.from({ length: 40 }, (_, k) => {
      const angle = (2 * Math.PI * (k >> 1)) / 20;
      const hollow = (k >> 1) % 3 === 0 ? 0.9 : 1;
      return k % 2 === 0 ? 20 + 20 * hollow * Math.cos(angle) : 12.5 + 12.5 * hollow * Math.sin(angle);
    }),
  ],
};
const areaM2 = regionArea(digLimit);

function pattern(n: number): PairPattern {
  const xy = new Float64Array(2 * n);
  uniformPoints(digLimit)(xy, randomStream(3, 0));
  return { from: xy, to: xy, window: digLimit, areaM2 };
}

const steps = (count: number) => radiiOf(Array.from({ length: count + 1 }, (_, k) => (k * reachM) / count));

function timed(work: () => unknown, times: number): number {
  return median(
    Array.from({ length: times }, () => {
      const started = performance.now();
      work();
      return performance.now() - started;
    }),
  );
}

/** The curves of 999 simulated patterns, as the analysis makes them. */
function envelope(n: number, curve: (pattern: PairPattern) => unknown): void {
  const draw = uniformPoints(digLimit);
  const xy = new Float64Array(2 * n);
  simulate({ count: 999, seed: 1 }, (random) => {
    draw(xy, random);
    return curve({ from: xy, to: xy, window: digLimit, areaM2 });
  });
}

/** K of 1,000 and 10,000 finds, and envelopes of 999 simulations, in a dig limit of 20 corners. One thread. */
export async function run(): Promise<Row[]> {
  const peer = 'spatstat.explore, Kest and envelope';
  const rows: Row[] = [];
  const add = (row: {
    job: string;
    ours: number;
    theirs: number | null;
    note: string;
    gate: string | null;
    pass: boolean | null;
  }) => {
    rows.push({
      job: row.job,
      peer,
      ours_ms: row.ours,
      peer_ms: row.theirs,
      ratio: row.theirs === null ? null : row.theirs / row.ours,
      note: row.note,
      gate: row.gate,
      pass: row.pass,
    });
  };
  for (const n of [1000, 10_000]) {
    const finds = pattern(n);
    const radii = steps(512);
    for (const correction of ['isotropic', 'translation'] as const) {
      const work = () =>
        kFunctions(finds, {
          radii,
          corrections: [correction],
          covariance: correction === 'translation' ? setCovariance(digLimit, reachM) : null,
        });
      if (n === 1000) work();
      const ours = timed(work, 3);
      const theirs = askR('distance-functions.R', ['k', String(n), correction]);
      const isGate = correction === 'isotropic' && n === 10_000 && theirs !== null;
      add({
        job: `K ${correction}, exact, ${n.toLocaleString('en')} finds, r to ${reachM} m`,
        ours,
        theirs,
        note: 'median of 3',
        gate: isGate ? 'at least 15 times as fast' : null,
        pass: isGate ? theirs / ours >= 15 : null,
      });
    }
  }
  const covariance = tabulated(setCovariance(digLimit, reachM), reachM);
  for (const [n, mostMs] of [
    [500, 2500],
    [2000, 12_000],
  ]) {
    const radii = steps(64);
    const ours = timed(() => envelope(n, (p) => isotropicBySteps(p, radii)), 3);
    add({
      job: `envelope of K isotropic, 999 simulations, ${n.toLocaleString('en')} finds`,
      ours,
      theirs: askR('distance-functions.R', ['envelope', String(n), 'isotropic']),
      note: 'one thread, weights by steps; the peer from fewer simulations, scaled',
      gate: `at most ${mostMs / 1000} s`,
      pass: ours <= mostMs,
    });
    add({
      job: `envelope of K translation, 999 simulations, ${n.toLocaleString('en')} finds`,
      ours: timed(() => envelope(n, (p) => kFunctions(p, { radii, corrections: ['translation'], covariance })), 3),
      theirs: askR('distance-functions.R', ['envelope', String(n), 'translation']),
      note: 'one thread, overlaps from a table; the peer from fewer simulations, scaled',
      gate: null,
      pass: null,
    });
  }
  return rows;
}
