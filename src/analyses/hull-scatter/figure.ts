import { plotCurves } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import type { ChanceBand, Measure } from './chance.js';

/** What the drawing shows. */
export interface ScatterFigure {
  /** [n] metres */
  readonly distances: Float64Array;
  readonly law: Measure['law'];
  readonly band: ChanceBand | null;
  readonly measuredTo: string;
  /** the answer in one line */
  readonly subtitle: string;
  readonly notes: readonly string[];
}

const mostSteps = 400;

/** Share of finds within each distance against the share of dug ground. */
export function scatterFigure(spec: ScatterFigure): Scene {
  const { distances, law, band } = spec;
  const n = distances.length;
  const from = Math.min(
    law.least,
    distances.reduce((low, d) => Math.min(low, d), Infinity),
  );
  const to = Math.max(
    law.greatest,
    distances.reduce((most, d) => Math.max(most, d), -Infinity),
  );
  const places = Array.from({ length: 161 }, (_, k) => from + (k / 160) * (to - from));
  const shares = [...law.shares(Float64Array.from(places))];
  const sorted = distances.slice().sort();
  // a step for each find, or at even ranks when they are too many to tell apart
  const ranks =
    n <= mostSteps
      ? [...sorted.keys()]
      : Array.from({ length: mostSteps }, (_, k) => Math.ceil(((k + 1) / mostSteps) * n) - 1);
  const observed = {
    x: [from, ...ranks.map((i) => sorted[i]), to],
    y: [0, ...ranks.map((i) => (i + 1) / n), n === 0 ? 0 : 1],
  };
  return plotCurves({
    title: `Distance to ${spec.measuredTo}`,
    subtitle: spec.subtitle,
    xTitle: `Distance to ${spec.measuredTo}, m`,
    yTitle: 'Share within that distance',
    curves: [
      { name: 'Dug ground', x: places, y: shares, style: 'reference' },
      ...(n > 0 ? [{ name: 'Finds', ...observed, style: 'observed' as const, steps: true }] : []),
    ],
    bands: band
      ? [
          {
            name: `${((1 - band.level) * 100).toFixed(0)} % of random scatters, at one distance`,
            x: band.places,
            low: band.low,
            high: band.high,
          },
        ]
      : [],
    notes: spec.notes,
  });
}
