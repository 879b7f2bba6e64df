import type { Sample } from '../../domain/sample.js';
import type { RandomStream } from '../../math/random.js';
import { regionBox } from '../../math/rings.js';
import { smoothedScatter } from '../../math/smoothed-scatter.js';
import { type PointSampler, uniformPoints } from '../../math/uniform-points.js';
import { Problem } from '../../problems.js';
import type { Pattern } from './estimator.js';
import type { Ground } from './ground.js';
import { drawFromCrowd, type Labelling, labellingOf } from './labelling.js';
import type { NullModel, TestedFunction } from './schemas.js';

/** A way to lay out patterns as chance alone would. */
export interface NullPatterns {
  /** one pattern; its arrays are overwritten by the next */
  draw(random: RandomStream): Pattern;
  readonly labelling: Labelling | null;
}

/**
 * Patterns of a null model. Of two types under uniform, inhomogeneous and toroidal_shift the first is laid out anew and
 * the second stays, so that the second type's own clusters are in every simulated pattern too.
 *
 * @param bandwidthM  of the density, for inhomogeneous
 * @throws Problem cannot-answer where the model does not fit the window, the types or the function tested
 */
export function nullPatterns(
  ground: Ground,
  sample: Sample,
  plan: { readonly model: NullModel; readonly function: TestedFunction; readonly bandwidthM: number | null },
): NullPatterns {
  const { model } = plan;
  if (ground.isCross && plan.function === 'F' && model !== 'random_labelling') {
    throw new Problem(
      'cannot-answer',
      `under null_model = ${model} the second type stays, so F about it never changes; ask for function = G or L, or for random_labelling`,
      { null_model: model, function: plan.function },
    );
  }
  switch (model) {
    case 'uniform':
      return sampled(ground, uniformPoints(ground.window));
    case 'inhomogeneous':
      return sampled(ground, smoothedScatter(ground.from, ground.window, plan.bandwidthM ?? Number.NaN));
    case 'toroidal_shift':
      return { draw: toroidalShift(ground), labelling: null };
    case 'random_labelling': {
      if (ground.isCross) {
        const labelling = labellingOf(ground, sample);
        return { draw: (random) => labelling.draw(random), labelling };
      }
      const n = ground.from.length / 2;
      if (ground.crowd.length / 2 <= n) {
        throw new Problem(
          'cannot-answer',
          'null_model = random_labelling needs finds of other classes to deal among: choose a class with artefact_class, or two with from and to',
          { null_model: model },
        );
      }
      return { draw: drawFromCrowd(ground.crowd, n), labelling: null };
    }
  }
}

function sampled(ground: Ground, sampler: PointSampler): NullPatterns {
  const from = new Float64Array(ground.from.length);
  const to = ground.isCross ? ground.to : from;
  return {
    draw(random) {
      sampler(from, random);
      return { from, to };
    },
    labelling: null,
  };
}

/** Slides the first type as a whole, what leaves on one side coming in on the other. @see Lotwick & Silverman 1982, doi:10.1111/j.2517-6161.1982.tb01221.x */
function toroidalShift(ground: Ground): (random: RandomStream) => Pattern {
  if (!ground.isCross) {
    throw new Problem('cannot-answer', 'null_model = toroidal_shift slides one type over another: give from and to', {
      null_model: 'toroidal_shift',
    });
  }
  const [west, south, east, north] = regionBox(ground.window);
  const width = east - west;
  const height = north - south;
  if (ground.window.rings.length !== 1 || Math.abs(ground.areaM2 - width * height) > 1e-9 * width * height) {
    throw new Problem(
      'cannot-answer',
      'null_model = toroidal_shift joins opposite sides of the window, which only a rectangle along the site grid allows, and this window is none; ask for random_labelling',
      { null_model: 'toroidal_shift' },
    );
  }
  const from = new Float64Array(ground.from.length);
  return (random) => {
    const stepX = random.next() * width;
    const stepY = random.next() * height;
    for (let i = 0; i < from.length; i += 2) {
      const x = ground.from[i] - west + stepX;
      const y = ground.from[i + 1] - south + stepY;
      from[i] = west + (x >= width ? x - width : x);
      from[i + 1] = south + (y >= height ? y - height : y);
    }
    return { from, to: ground.to };
  };
}
