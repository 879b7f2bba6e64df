import type { Sample } from '../../domain/sample.js';
import { plotCurves } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import type { Summary } from './schemas.js';

/** Dispersion of counts by block size, against random scatters on the same ground. */
export function dispersionFigure(summary: Summary, sample: Sample): Scene {
  const sizes = summary.block_sizes;
  const x = sizes.map((size) => size.block_m);
  const low = sizes.map((size) => size.dispersion_low ?? Number.NaN);
  const high = sizes.map((size) => size.dispersion_high ?? Number.NaN);
  return plotCurves({
    title: 'Counts by square: how uneven at which block size',
    subtitle: summary.sentence,
    xTitle: 'side of the block (m)',
    yTitle: 'χ² / df (1 = random)',
    curves: [
      { name: 'random, expected: 1', x, y: x.map(() => 1), style: 'reference' },
      { name: `observed, ${summary.n} finds`, x, y: sizes.map((size) => size.dispersion), style: 'observed' },
    ],
    ...(summary.simulated && sizes.length > 0
      ? {
          bands: [
            {
              name: `pointwise 95 % band of ${summary.simulated.simulations} random scatters on the same ground`,
              x,
              low,
              high,
            },
          ],
        }
      : {}),
    notes: [
      `n = ${summary.n}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
      ...sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`),
    ],
  });
}
