import { type CountedSample, type CountedUnits, tileCounts, unitsOf } from '../../domain/counted-sample.js';
import { holm } from '../../math/false-discovery.js';
import { negativeBinomialFit } from '../../math/negative-binomial.js';
import {
  blockSums,
  countsWithGround,
  morisitaIndex,
  pearsonSum,
  type QuadratTest,
  quadratTest,
  varianceMeanRatio,
} from '../../math/quadrats.js';
import { randomStream } from '../../math/random.js';
import { shareSampler } from '../../math/share-sampler.js';
import type { RunControl } from '../contract.js';
import { type BlockSize, blockSizes } from './counting.js';
import { type RandomCounts, randomCounts } from './random-counts.js';
import type { Summary } from './schemas.js';

/** One set of finds with everything said of its counts. */
export interface CountedFinds {
  readonly units: CountedUnits;
  /** [tiles] */
  readonly counts: Float64Array;
  readonly test: QuadratTest | null;
  /** the χ² law takes things counted one by one: false where a find counts for several */
  readonly countsSingly: boolean;
  readonly byChance: RandomCounts | null;
}

/** streams from here on are redraws of finds known by an area; simulations use the ones below */
const firstDrawStream = 1_000_000_000;

/** Counts one class, or all finds, and compares them with random scatters. */
export function countFinds(
  counted: CountedSample,
  sizes: readonly BlockSize[],
  how: { readonly classCode: number | null; readonly control: RunControl },
): CountedFinds {
  const { exposureM2 } = counted.ground;
  const units = unitsOf(counted, how.classCode);
  const counts = tileCounts(units, exposureM2.length);
  const test = quadratTest(counts, exposureM2);
  const weights = units.weight.filter((_, i) => units.tile[i] >= 0 && exposureM2[units.tile[i]] > 0);
  const { simulations, seed } = how.control;
  return {
    units,
    counts,
    test,
    countsSingly: weights.every((w) => w === 1),
    byChance:
      test !== null && simulations > 0
        ? randomCounts(
            { observed: test.chi2, weights, sizes: how.classCode === null ? sizes : sizes.slice(0, 1) },
            {
              count: simulations,
              seed,
              progress: (share) => how.control.progress(share, 'dropping finds at random on the dug ground'),
            },
          )
        : null,
  };
}

/** Everything but the sentence. */
export function summaryOf(
  counted: CountedSample,
  all: CountedFinds,
  classes: readonly { readonly name: string | null; readonly found: CountedFinds }[],
  control: RunControl,
): Omit<Summary, 'sentence' | 'beyond_thickness'> {
  const { squares, ground, local } = counted;
  const { tiles } = squares;
  const { test, byChance, counts } = all;
  const used = countsWithGround(counts, ground.exposureM2);
  const grounds = countsWithGround(ground.exposureM2, ground.exposureM2);
  const isEqual = grounds.every((g) => Math.abs(g - grounds[0]) <= 1e-9 * grounds[0]);
  const law = all.countsSingly ? test : null;
  const classP = classes.map(({ found }) => probabilities(found));
  const adjusted = holm(classP.map((p) => p.p_two_sided ?? Number.NaN));
  return {
    dispersion: test?.dispersion ?? null,
    simulated: byChance && {
      p_clustered: byChance.pClustered,
      p_regular: byChance.pRegular,
      p_two_sided: byChance.pTwoSided,
      dispersion_low: byChance.ranges[0].low,
      dispersion_high: byChance.ranges[0].high,
      simulations: control.simulations,
    },
    p_two_sided: law?.pTwoSided ?? null,
    p_clustered: law?.pClustered ?? null,
    p_regular: law?.pRegular ?? null,
    p_reason:
      test === null
        ? 'a test needs at least two tiles with ground and a find in them'
        : all.countsSingly
          ? null
          : 'finds count for several pieces, grams or the like, and these fall together; the χ² law takes things that fall one by one',
    tests_made: (test ? 1 : 0) + classP.filter((p) => p.p_two_sided !== null).length,
    n: all.units.tile.length,
    total: counts.reduce((sum, c) => sum + c, 0),
    window_area_m2: local.windowAreaM2,
    columns: tiles.columns,
    rows: tiles.rows,
    tile_width_m: squares.widthM,
    tile_height_m: squares.heightM,
    counts: fromNorth(counts, tiles.columns),
    areas_m2: fromNorth(ground.areaM2, tiles.columns),
    exposure_m2: fromNorth(ground.exposureM2, tiles.columns),
    chi2: test?.chi2 ?? null,
    df: test?.df ?? null,
    smallest_expected: test?.smallestExpected ?? null,
    tiles_with_ground: used.length,
    empty_tiles: used.reduce((sum, c) => sum + (c === 0 ? 1 : 0), 0),
    equal_tiles: isEqual,
    variance_mean_ratio: varianceMeanRatio(used),
    variance_mean_reason:
      varianceMeanRatio(used) === null
        ? 'a variance needs at least two tiles with ground and a find in them'
        : isEqual
          ? null
          : 'tiles have unequal ground, which alone makes counts vary; read χ² / df instead',
    morisita: all.countsSingly ? morisitaIndex(used) : null,
    negative_binomial_k: all.countsSingly ? fitted(negativeBinomialFit(used, grounds)) : null,
    block_sizes: blocksOf(counted, all),
    by_area: redrawn(counted, all, control),
    by_class: classes.map(({ name, found }, i) => ({
      artefact_class: name,
      n: found.units.tile.length,
      dispersion: found.test?.dispersion ?? null,
      ...classP[i],
      p_holm: Number.isNaN(adjusted[i]) ? null : adjusted[i],
      negative_binomial_k: found.countsSingly
        ? (negativeBinomialFit(countsWithGround(found.counts, ground.exposureM2), grounds)?.k ?? null)
        : null,
    })),
  };
}

/** Values of tiles row by row from the north. */
function fromNorth(values: Float64Array, columns: number): number[] {
  const out: number[] = [];
  for (let start = values.length - columns; start >= 0; start -= columns) {
    out.push(...values.subarray(start, start + columns));
  }
  return out;
}

function probabilities({ test, byChance, countsSingly }: CountedFinds) {
  const best = byChance ?? (countsSingly ? test : null);
  return {
    p_clustered: best?.pClustered ?? null,
    p_regular: best?.pRegular ?? null,
    p_two_sided: best?.pTwoSided ?? null,
  };
}

const fitted = (fit: ReturnType<typeof negativeBinomialFit>) => fit && { k: fit.k, low: fit.low, high: fit.high };

function blocksOf(counted: CountedSample, all: CountedFinds): Summary['block_sizes'] {
  const side = Math.sqrt(counted.squares.widthM * counted.squares.heightM);
  return blockSizes(counted).flatMap((size, k) => {
    const counts = blockSums(all.counts, size.blockOf, size.blocks);
    const test = pearsonSum(counts, size.exposureM2);
    if (test === null) return [];
    const used = countsWithGround(counts, size.exposureM2);
    const range = all.byChance?.ranges[k];
    return [
      {
        block_m: side * size.size,
        blocks: used.length,
        chi2: test.chi2,
        dispersion: test.chi2 / test.df,
        dispersion_low: range?.low ?? null,
        dispersion_high: range?.high ?? null,
        variance_mean_ratio: varianceMeanRatio(used),
        morisita: all.countsSingly ? morisitaIndex(used) : null,
      },
    ];
  });
}

/** What finds whose area reaches into several tiles leave open: each is dropped into them by share, several times. */
function redrawn(counted: CountedSample, all: CountedFinds, control: RunControl): Summary['by_area'] {
  const { finds, local, ground } = counted;
  const draws = finds.straddling.length > 0 && all.test ? control.draws : 0;
  const samplers = finds.straddling.map(({ shares }) => shareSampler(shares));
  const values: number[] = [];
  for (let d = 0; d < draws; d++) {
    const random = randomStream(control.seed, firstDrawStream + d);
    const counts = all.counts.slice();
    finds.straddling.forEach(({ area, tiles }, i) => {
      counts[finds.areaTile[area]] -= local.areas[area].weight;
      counts[tiles[samplers[i](random)]] += local.areas[area].weight;
    });
    const test = pearsonSum(counts, ground.exposureM2);
    if (test) values.push(test.chi2 / test.df);
  }
  values.sort((a, b) => a - b);
  return {
    counted: finds.areaTile.reduce((sum, tile) => sum + (tile >= 0 ? 1 : 0), 0),
    straddling: finds.straddling.length,
    draws,
    dispersion_low: values.at(0) ?? null,
    dispersion_high: values.at(-1) ?? null,
  };
}
