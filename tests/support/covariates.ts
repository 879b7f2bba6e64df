import { readFileSync } from 'node:fs';
import type { Line } from '../../src/math/line-strips.js';
import { orientRings, type Region } from '../../src/math/rings.js';

/** One reference file covariate_*.json: points in a window and their distances to a straight line. */
export interface LineCovariate {
  readonly name: string;
  readonly window: Region;
  readonly xy: Float64Array;
  readonly line: Line;
  readonly expected: {
    readonly Z: number[];
    readonly U: number[];
    readonly covariate_mean: number;
    readonly covariate_second_moment: number;
    readonly ks_D: number;
    readonly ks_p_exact: number;
    readonly ks_p_asymptotic: number;
    readonly berman_Z1_poisson: number;
    readonly p_Z1: number;
    readonly berman_Z1_conditional_on_n: number;
    readonly p_Z1_conditional: number;
    readonly berman_Z2: number;
    readonly p_Z2: number;
  };
}

const files = ['site_a', 'gpl/cells', 'gpl/demopat', 'gpl/japanesepines', 'gpl/redwood'];

/** All covariate reference files, made by numpy, scipy and shapely (see their `source`). */
export const lineCovariates: readonly LineCovariate[] = files.map((file) => {
  const path = file.replace(/([^/]+)$/, 'covariate_$1.json');
  const { input, expected } = JSON.parse(readFileSync(new URL(`../reference/${path}`, import.meta.url), 'utf8'));
  const ring = (corners: number[][]) => Float64Array.from(corners.flat());
  const { window } = input;
  const outer =
    window.type === 'rectangle'
      ? [
          [window.xrange[0], window.yrange[0]],
          [window.xrange[1], window.yrange[0]],
          [window.xrange[1], window.yrange[1]],
          [window.xrange[0], window.yrange[1]],
        ]
      : window.outer;
  return {
    name: file,
    window: orientRings([[ring(outer), ...(window.holes ?? []).map(ring)]]),
    xy: Float64Array.from(input.points.flat()),
    line: expected.coefficients,
    expected,
  };
});
