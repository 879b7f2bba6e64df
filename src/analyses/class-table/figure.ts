import type { Sample } from '../../domain/sample.js';
import { plotCurves } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import type { Parameters, Summary } from './schemas.js';

/** Classes met as more squares are looked at. */
export function accumulationFigure(summary: Summary, sample: Sample, own: Parameters): Scene {
  const curve = summary.accumulation;
  const x = curve?.squares ?? [];
  return plotCurves({
    title: 'Classes met as more squares are looked at',
    subtitle: summary.sentence,
    xTitle: 'squares',
    yTitle: 'classes',
    curves: curve
      ? [
          {
            name: `all classes expected, at least ${Number(curve.estimate.toPrecision(3))} (Chao)`,
            x: [x[0], x[x.length - 1]],
            y: [curve.estimate, curve.estimate],
            style: 'reference',
          },
          { name: 'mean over all sequences of squares', x, y: curve.mean, style: 'observed' },
        ]
      : [],
    ...(curve
      ? { bands: [{ name: `middle 95 % of ${own.sequences} sequences`, x, low: curve.low, high: curve.high }] }
      : {}),
    notes: [
      `n = ${summary.n}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}
