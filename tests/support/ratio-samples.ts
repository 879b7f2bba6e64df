import type { RunControl } from '../../src/analyses/contract.js';
import densityRatio from '../../src/analyses/density-ratio/index.js';
import type { Sample } from '../../src/domain/sample.js';
import type { Region } from '../../src/math/rings.js';
import { rectangle } from './kernel-reference.js';
import { uniformScatter } from './near.js';
import { sampleOf } from './sample-of.js';

export const ratioControl = (simulations: number): RunControl => ({
  seed: 3,
  simulations,
  draws: 1,
  progress: () => {},
});

/** A density ratio of a sample, its numbers checked against the published schema. */
export function runRatio(sample: Sample, asked: Record<string, unknown> = {}, simulations = 99) {
  const answer = densityRatio.run(sample, densityRatio.parameters.parse(asked), ratioControl(simulations));
  densityRatio.result.parse(answer.summary);
  return answer;
}

export const pairs = (xy: Float64Array) =>
  Array.from({ length: xy.length / 2 }, (_, i) => [xy[2 * i], xy[2 * i + 1]] as const);

/** Finds with classes: class and place of each, in the order given. */
export function namedFinds(
  finds: readonly (readonly [string, readonly [number, number]])[],
  window: Region,
  more: Partial<Sample> = {},
): Sample {
  const classes = [...new Set(finds.map(([name]) => name))];
  return sampleOf(
    finds.map(([, place]) => place),
    window,
    { classes, classCode: Uint32Array.from(finds, ([name]) => classes.indexOf(name) + 1), ...more },
  );
}

/** Ten by six metres with 60 jars and 90 nails anywhere, and 40 pieces of glass in a corner. */
export const ratioWindow = rectangle([0, 0, 10, 6]);
export const jars = pairs(uniformScatter({ n: 60, seed: 2, width: 10, height: 6 }));
export const nails = pairs(uniformScatter({ n: 90, seed: 4, width: 10, height: 6 }));
export const glass = pairs(
  uniformScatter({ n: 40, seed: 6, width: 1.6, height: 1.6 }).map((v, k) => v + (k % 2 === 0 ? 7 : 3)),
);
export const glassDig = namedFinds(
  [
    ...jars.map((p) => ['jar', p] as const),
    ...nails.map((p) => ['nail', p] as const),
    ...glass.map((p) => ['glass', p] as const),
  ],
  ratioWindow,
);
