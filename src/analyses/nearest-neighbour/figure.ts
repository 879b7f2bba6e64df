import { type Curve, plotCurves } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import { exponential } from '../../math/elementary.js';
import { bandRank, pointwiseBand } from '../../math/monte-carlo.js';
import { type ProductLimit, productLimitAt } from '../../math/product-limit.js';
import { countWithin, type Places, type RandomScatters } from './random-scatters.js';

/** What the drawing shows. */
export interface DistancePlot {
  readonly distances: Float64Array;
  readonly areaM2: number;
  readonly places: Places;
  readonly scatters: RandomScatters | null;
  /** drawn beside the plain curve when asked for */
  readonly kaplanMeier: ProductLimit | null;
  readonly subtitle: string;
  readonly notes: readonly string[];
}

/** Places up to where all observed distances, or nearly all of a random scatter's, have been passed. */
export function placesFor(distances: Float64Array, areaM2: number): Places {
  const n = distances.length;
  // 4.6 = −ln 0.01; without finds the scale is that of the window
  const random = Math.sqrt((n > 1 ? 4.6 / Math.PI : 1) * (areaM2 / Math.max(n, 1)));
  let farthest = 0;
  for (const d of distances) if (d < Infinity) farthest = Math.max(farthest, d);
  // one stray must not push the rest into a corner; 119.7 keeps the places off rounded coordinates
  return { count: 121, stepM: Math.min(Math.max(farthest, random), 4 * random) / 119.7 };
}

/** Share of finds whose nearest other find lies within r, against random scatters in the same window. */
export function distanceFigure(plot: DistancePlot): Scene {
  const { distances, areaM2, places, scatters } = plot;
  const n = distances.length;
  const x = Array.from({ length: places.count }, (_, k) => k * places.stepM);
  const theory = x.map((r) => 1 - exponential((-n / areaM2) * Math.PI * r * r));
  const curves: Curve[] = [{ name: 'random, without edge: 1 − exp(−λπr²)', x, y: theory, style: 'reference' }];
  if (n > 1) {
    const counts = new Uint32Array(places.count);
    countWithin(distances, places, counts);
    curves.unshift({
      name: `observed, ${n} finds`,
      x,
      y: Array.from(counts, (c) => c / n),
      style: 'observed',
      steps: true,
    });
  }
  const { kaplanMeier } = plot;
  if (kaplanMeier) {
    const y = x.map((r) => productLimitAt(kaplanMeier, r));
    curves.push({ name: 'observed, Kaplan–Meier', x, y, style: 'class1', steps: true });
  }
  return plotCurves({
    title: 'Distance to the nearest other find',
    subtitle: plot.subtitle,
    xTitle: 'distance r (m)',
    yTitle: 'share of finds with a neighbour within r',
    curves,
    ...(scatters && scatters.meansM.length > 1 ? { bands: [simulatedBand(scatters, { n, x })] } : {}),
    notes: plot.notes,
  });
}

function simulatedBand(scatters: RandomScatters, at: { n: number; x: number[] }) {
  const simulations = scatters.meansM.length;
  const rank = Math.min(bandRank(simulations, 0.05), Math.floor(simulations / 2));
  const band = pointwiseBand(scatters.counts, at.x.length, rank);
  const share = Math.round(1000 * (1 - band.level)) / 10;
  return {
    name: `pointwise ${share} % band of ${simulations} random scatters in the same window`,
    x: at.x,
    low: Array.from(band.low, (c) => c / at.n),
    high: Array.from(band.high, (c) => c / at.n),
  };
}
