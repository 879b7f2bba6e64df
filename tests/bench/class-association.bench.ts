import { associationOf, type ClassedFinds } from '../../src/analyses/class-association/dealings.js';
import { averageLinkage } from '../../src/math/average-linkage.js';
import { simulate } from '../../src/math/monte-carlo.js';
import { nameDealer } from '../../src/math/name-dealing.js';
import { nearestOthers } from '../../src/math/nearest-others.js';
import { dixonLaw, neighbourShape, neighbourTable } from '../../src/math/neighbour-table.js';
import { randomStream } from '../../src/math/random.js';
import { uniformPoints } from '../../src/math/uniform-points.js';
import { median, type Row } from './row.js';

const widthM = 40;
const heightM = 25;
const window = { rings: [Float64Array.of(0, 0, widthM, 0, widthM, heightM, 0, heightM)] };

function finds(n: number, classes: number): ClassedFinds {
  const xy = new Float64Array(2 * n);
  const random = randomStream(5, 0);
  uniformPoints(window)(xy, random);
  return {
    classes: Array.from({ length: classes }, (_, k) => `class ${k}`),
    xy,
    label: Uint8Array.from({ length: n }, () => random.below(classes)),
    group: new Int32Array(n).fill(-1),
    stratum: new Int32Array(n),
    square: Int32Array.from({ length: n }, (_, i) => Math.floor(xy[2 * i]) * heightM + Math.floor(xy[2 * i + 1])),
    weight: new Float64Array(n).fill(1),
    squares: widthM * heightM,
    window,
    areaM2: widthM * heightM,
    slackM: 0,
  };
}

function timed(work: () => unknown): number {
  return median(
    Array.from({ length: 3 }, () => {
      const started = performance.now();
      work();
      return performance.now() - started;
    }),
  );
}

/** The neighbour table of all finds, and of as many dealings, each with its χ². */
function dixonDealt(given: ClassedFinds, simulations: number): void {
  const classes = given.classes.length;
  const nearest = nearestOthers(given.xy).index;
  const count = new Uint32Array(classes);
  for (const c of given.label) count[c]++;
  const law = dixonLaw(count, neighbourShape(nearest));
  const dealer = nameDealer(given);
  const label = new Uint8Array(given.label.length);
  simulate({ count: simulations, seed: 1 }, (random) => {
    dealer.deal(label, random);
    return law.chi2(neighbourTable({ label, classes, nearest }));
  });
}

/** Dixon's table with random labelling, alone and with near pairs and shared squares beside it. One thread. */
export async function run(): Promise<Row[]> {
  const given = finds(5000, 12);
  const mostMs = 3000;
  const row = (job: string, ours: number, isGate: boolean): Row => ({
    job,
    peer: 'none does it in one call',
    ours_ms: ours,
    peer_ms: null,
    ratio: null,
    note: 'median of 3, one thread',
    gate: isGate ? `at most ${mostMs / 1000} s` : null,
    pass: isGate ? ours <= mostMs : null,
  });
  const whole = () =>
    associationOf(given, {
      distances: [0.25, 0.5, 1],
      edge: 'translation',
      simulations: 999,
      seed: 1,
      progress: () => {},
    });
  const many = finds(5000, 40);
  const distance = Float64Array.from({ length: 1600 }, (_, at) => Math.abs(Math.floor(at / 40) - (at % 40)));
  return [
    row(
      'Dixon + random labelling 999, 12 classes, 5,000 finds',
      timed(() => dixonDealt(given, 999)),
      true,
    ),
    row('the same with K at three distances, Jaccard and Robinson–Brainerd', timed(whole), true),
    row(
      'Dixon’s law of 40 classes, no dealings',
      timed(() => dixonDealt(many, 0)),
      false,
    ),
    row(
      'cluster tree of 40 classes',
      timed(() => averageLinkage(distance, 40)),
      false,
    ),
  ];
}
