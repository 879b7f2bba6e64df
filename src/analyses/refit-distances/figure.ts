import type { Sample } from '../../domain/sample.js';
import { plotCurves } from '../../figures/plots.js';
import { plotRose } from '../../figures/rose-plot.js';
import type { Scene } from '../../figures/scene.js';
import { bearingOf } from '../../math/circular.js';
import { bandRank, pointwiseBand } from '../../math/monte-carlo.js';
import type { GatheredJoins } from './joined.js';
import { type Reallocated, shareWithin } from './reallocation.js';
import type { Parameters, Summary } from './schemas.js';

interface Drawn {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly gathered: GatheredJoins;
  readonly observed: Float64Array;
  readonly reallocated: Reallocated;
}

/** Share of joins within each distance against reallocated finds, or the bearings of the joins as a rose. */
export function figureOf(summary: Summary, drawn: Drawn): Scene {
  return drawn.own.drawing === 'rose' ? rose(summary, drawn) : distances(summary, drawn);
}

function notes(summary: Summary, { sample }: Drawn): string[] {
  return [
    `${summary.distances.joins} joins of ${summary.distances.units} units, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
    ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ...sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`),
  ];
}

function distances(summary: Summary, drawn: Drawn): Scene {
  const { observed, reallocated, own } = drawn;
  const joins = observed.length;
  const simulations = reallocated.rBar.length;
  const farthest = 1.2 * Math.max(summary.distances.greatest_m ?? 0, summary.distances.expected_m ?? 0, 0.1);
  const places = Array.from({ length: 121 }, (_, k) => (k / 120) * farthest);
  const rows = Float64Array.from(
    Array.from({ length: joins === 0 ? 0 : simulations }, (_, s) =>
      shareWithin(reallocated.distance, s * joins, joins, places),
    ).flat(),
  );
  const others = own.reallocate === 'class' ? 'their class' : 'their pot';
  const band = simulations > 1 && joins > 0 ? simulatedBand(rows, places, simulations) : null;
  return plotCurves({
    title: 'Distances of joins',
    subtitle: summary.sentence,
    xTitle: 'distance between the finds that join (m)',
    yTitle: 'share of joins within that distance',
    curves: [
      ...(joins > 0
        ? [
            {
              name: `observed, ${joins} joins`,
              x: places,
              y: shareWithin(observed, 0, joins, places),
              style: 'observed' as const,
              steps: true,
            },
          ]
        : []),
      {
        name: `mean of finds that trade places within ${others}`,
        x: places,
        y: places.map((_, r) => {
          let sum = 0;
          for (let s = 0; s < simulations; s++) sum += rows[s * places.length + r] ?? 0;
          return simulations > 0 && joins > 0 ? sum / simulations : Number.NaN;
        }),
        style: 'reference',
      },
    ],
    ...(band ? { bands: [band] } : {}),
    notes: notes(summary, drawn),
  });
}

function simulatedBand(rows: Float64Array, places: readonly number[], simulations: number) {
  const rank = Math.min(bandRank(simulations, 0.05), Math.floor(simulations / 2));
  const band = pointwiseBand(rows, places.length, rank);
  return {
    name: `pointwise ${Math.round(1000 * (1 - band.level)) / 10} % band of ${simulations} reallocations`,
    x: places,
    low: Array.from(band.low),
    high: Array.from(band.high),
  };
}

function rose(summary: Summary, drawn: Drawn): Scene {
  const { finds } = drawn.gathered;
  const { bearings } = summary;
  const directions = Array.from(finds.withBearing, (k) => {
    const dx = finds.xy[2 * finds.b[k]] - finds.xy[2 * finds.a[k]];
    const dy = finds.xy[2 * finds.b[k] + 1] - finds.xy[2 * finds.a[k] + 1];
    return dx === 0 && dy === 0 ? Number.NaN : bearingOf(dx, dy);
  });
  const mean = bearings?.mean_deg ?? null;
  return plotRose({
    title: 'Bearings of joins',
    subtitle: summary.sentence,
    directions,
    kind: drawn.own.bearing === 'axial' ? 'axial' : 'directed',
    name: `${bearings?.joins ?? 0} joins`,
    mean: mean === null ? null : { deg: mean, errorDeg: bearings?.error_deg ?? null },
    ...(drawn.sample.mapAzimuthDeg === 0
      ? {}
      : { norths: [{ name: 'map_grid_north', fromSiteNorthDeg: -drawn.sample.mapAzimuthDeg }] }),
    notes: notes(summary, drawn),
  });
}
