import type { Sample } from '../domain/sample.js';
import { randomStream } from '../math/random.js';
import { Problem } from '../problems.js';
import type { Analysis, Trial } from './contract.js';
import type { CheckedInputs } from './inputs.js';

/** Stream numbers from here on plant effects; redraws and simulations use the ones below. */
const firstPlantStream = 2_000_000_000;
const setsEach = 100;
/** enough for a p of 0.01; more would only cost time */
const mostSimulations = 99;
const level = 0.05;
const wanted = 0.8;

/** The smallest planted effect a test sees 8 times in 10. */
export interface Power {
  readonly effect: string;
  readonly unit: string;
  /** null = not even the largest effect tried is seen so often */
  readonly smallest_effect_80: number | null;
  readonly level: number;
  readonly sets: number;
  readonly simulations: number;
  /** every strength tried with the share of sets in which p was at most 0.05; null = p could not be given */
  readonly tried: readonly { readonly strength: number; readonly rejected: number | null }[];
  readonly reading: string;
}

/**
 * Plants effects of rising strength in made-up finds of this very dig and asks the test each time. The strengths are
 * halved in, which takes a power that rises with the effect for granted.
 */
export function powerOf(
  analysis: Analysis,
  sample: Sample,
  asked: { readonly inputs: CheckedInputs; readonly trial: Trial; progress(share: number, doing: string): void },
): Power {
  const { inputs, trial, progress } = asked;
  const rounds = Math.ceil(Math.log2(trial.strengths.length + 1));
  const tried = new Map<number, number | null>();
  const shareAt = (strength: number): number => {
    const base = 0.1 + (0.9 * tried.size) / (rounds + 1);
    const share = rejectedShare(analysis, sample, {
      inputs,
      trial,
      strength,
      progress: (part) => progress(base + (0.9 * part) / (rounds + 1), 'planting effects'),
    });
    tried.set(strength, share);
    return share ?? 0;
  };
  let low = 0;
  let high = trial.strengths.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (shareAt(trial.strengths[middle]) >= wanted) high = middle;
    else low = middle + 1;
  }
  shareAt(0);
  const smallest = low < trial.strengths.length ? trial.strengths[low] : null;
  const last = trial.strengths[trial.strengths.length - 1];
  const name = (strength: number) => `${strength}${trial.unit === '1' ? '' : ` ${trial.unit}`}`;
  return {
    effect: trial.effect,
    unit: trial.unit,
    smallest_effect_80: smallest,
    level,
    sets: setsEach,
    simulations: Math.min(mostSimulations, inputs.common.simulations || mostSimulations),
    tried: [...tried].sort(([a], [b]) => a - b).map(([strength, rejected]) => ({ strength, rejected })),
    reading:
      smallest === null
        ? `Cannot tell: with ${sample.xy.length / 2} finds even ${name(last)} (${trial.effect}) is seen less than 8 times in 10.`
        : `With ${sample.xy.length / 2} finds the smallest effect seen 8 times in 10 is ${name(smallest)} (${trial.effect}).`,
  };
}

/** How often the test rejects at 0.05 when an effect of this strength is there; null = it never gave a p. */
export function rejectedShare(
  analysis: Analysis,
  sample: Sample,
  asked: {
    readonly inputs: CheckedInputs;
    readonly trial: Trial;
    readonly strength: number;
    readonly sets?: number;
    progress?(share: number): void;
  },
): number | null {
  const { inputs, trial, strength, sets = setsEach, progress } = asked;
  const { seed, draws } = inputs.common;
  const simulations = Math.min(mostSimulations, inputs.common.simulations || mostSimulations);
  let rejected = 0;
  let answered = 0;
  for (let set = 0; set < sets; set++) {
    progress?.(set / sets);
    const planted = trial.plant(sample, strength, randomStream(seed, firstPlantStream + set));
    // a seed of its own for each set: p values that share their simulations lean the same way
    const own = {
      seed: (seed + 7919 * (set + 1)) % 4294967296,
      simulations,
      draws,
      progress: () => progress?.(set / sets),
    };
    const p = probabilityOf(() => trial.probability(analysis.run(planted, inputs.own as never, own).summary));
    if (p === null) continue;
    answered++;
    if (p <= level) rejected++;
  }
  return answered === 0 ? null : rejected / answered;
}

/** A set the test refuses, by too few finds of a kind for one, gives no p. */
function probabilityOf(ask: () => number | null): number | null {
  try {
    return ask();
  } catch (error) {
    if (error instanceof Problem && error.code === 'too-few-points') return null;
    throw error;
  }
}
