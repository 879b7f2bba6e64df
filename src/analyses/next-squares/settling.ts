import { chanceOfNone } from '../../math/count-law.js';
import { normalLowerTail } from '../../math/distributions.js';
import type { HullContinuity } from './hull-continuity.js';
import type { Parameters } from './schemas.js';
import type { Prediction, RateAt } from './trend.js';

/** What is known of a square before it is dug, as far as the questions ask. */
export interface BeforeDigging {
  readonly hull: HullContinuity;
  /** null = nothing can be foretold */
  readonly prediction: Prediction | null;
  /** log rates of the two classes; null = they cannot be foretold */
  readonly classes: readonly [RateAt, RateAt] | null;
  readonly classNames: readonly string[];
}

/** How much a square would settle: a measure to rank by, and the words. */
export interface Settling {
  readonly value: number | null;
  readonly words: string;
}

/** What the measure is, for each question. */
export const measures: Readonly<Record<Parameters['question'], string>> = {
  hull_limits: 'number of hull features, the ship axis among them, that would go on into the square',
  scatter_limits: 'four times the chance of none times the chance of some: 1 = even odds, 0 = foregone',
  class_boundary:
    'four times the chance that the first class is the denser one times the chance that it is not: 1 = even odds',
};

/** What one square would settle of the question asked. */
export function settling(question: Parameters['question'], before: BeforeDigging): Settling {
  if (question === 'hull_limits') return hullLimits(before.hull);
  return question === 'scatter_limits' ? scatterLimits(before.prediction) : classBoundary(before);
}

function hullLimits({ endsAtEdge, pointsAt, projected, axis }: HullContinuity): Settling {
  const names = new Set([...endsAtEdge, ...pointsAt.map(({ name }) => name), ...projected]);
  const value = names.size + (axis ? 1 : 0);
  if (value === 0) {
    return { value, words: 'no known hull points into it: hull found here would be another part of the ship' };
  }
  const listed = [...names].slice(0, 4).join(', ') + (names.size > 4 ? ` and ${names.size - 4} more` : '');
  if (names.size === 0) return { value, words: 'whether hull follows the ship axis so far' };
  return { value, words: `whether ${listed} ${names.size === 1 ? 'goes' : 'go'} on into it` };
}

function scatterLimits(prediction: Prediction | null): Settling {
  if (prediction === null) return { value: null, words: 'cannot tell: no rate can be foretold' };
  const none = chanceOfNone(prediction);
  const words =
    none > 0.9
      ? 'little: finds are hardly to be expected'
      : none < 0.1
        ? 'little of the limit: the scatter very likely runs on through it'
        : 'whether the scatter reaches so far';
  return { value: 4 * none * (1 - none), words: `${words} (chance of none ${none.toFixed(2)})` };
}

function classBoundary({ classes, classNames }: BeforeDigging): Settling {
  if (classes === null) return { value: null, words: 'cannot tell: two classes with finds enough are needed' };
  const [a, b] = classes;
  const deviation = Math.sqrt(a.variance + b.variance);
  const first = normalLowerTail((a.link - b.link) / deviation);
  return {
    value: 4 * first * (1 - first),
    words: `whether ${classNames[0]} or ${classNames[1]} is the denser there (chance of ${classNames[0]} ${first.toFixed(2)})`,
  };
}
