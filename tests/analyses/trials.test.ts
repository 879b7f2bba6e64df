import { describe, expect, test } from 'vitest';
import { catalogue } from '../../src/analyses/catalogue.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import { rejectedShare } from '../../src/analyses/power.js';
import { randomStream } from '../../src/math/random.js';
import { contentsOf, smallDig } from '../support/small-dig.js';

/** a hundred and sixty finds among four hundred of the same seasons */
function digToTry() {
  const crowd = smallDig({ x: 0, y: 0 }, 400);
  return { ...smallDig({ x: 0, y: 0 }, 160), areas: [], others: { xy: crowd.xy, classCode: crowd.classCode } };
}

const tried = catalogue.filter((analysis) => analysis.trial);

describe.each(tried)('$id', (analysis) => {
  const trial = analysis.trial as NonNullable<typeof analysis.trial>;
  const inputs = checkInputs(analysis, { simulations: 39 });
  const sample = digToTry();
  const shareAt = (strength: number, sets: number) =>
    rejectedShare(analysis, sample, { inputs, trial, strength, sets }) ?? Number.NaN;

  test('plants as many finds, leaves the dig as it was, and gives the same finds for the same seed', () => {
    const before = contentsOf(sample);
    const [strongest] = trial.strengths.slice(-1);
    const planted = trial.plant(sample, strongest, randomStream(3, 1));
    expect(contentsOf(sample)).toBe(before);
    expect(planted.xy).toHaveLength(sample.xy.length);
    expect(contentsOf(trial.plant(sample, strongest, randomStream(3, 1)))).toBe(contentsOf(planted));
    expect(contentsOf(trial.plant(sample, strongest, randomStream(3, 2)))).not.toBe(contentsOf(planted));
    expect([...trial.strengths]).toEqual([...trial.strengths].sort((a, b) => a - b));
    expect(trial.strengths[0]).toBeGreaterThan(0);
  });

  test('chance alone is seldom taken for an effect; the strongest effect is seen', () => {
    // 60 sets at 0.05: 10 or more happen once in two thousand times
    expect(shareAt(0, 60)).toBeLessThan(10 / 60);
    expect(shareAt(trial.strengths[trial.strengths.length - 1], 20)).toBeGreaterThanOrEqual(0.8);
  });
});
