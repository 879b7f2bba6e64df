import type { Sample } from '../../domain/sample.js';
import { type Curve, type PlanOutline, type PointGroup, plotCurves, plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import { stackScenes } from '../../figures/stacked-scenes.js';
import { chiSquareLowerTail } from '../../math/distributions.js';
import { kthNearestDistances } from '../../math/nearest.js';
import type { Contents } from './contents.js';
import type { Ground } from './ground.js';
import type { Summary } from './schemas.js';

type Corner = readonly [number, number];

/** What the drawing shows. */
export interface ClusterDrawing {
  readonly sample: Sample;
  readonly ground: Ground;
  readonly contents: readonly Contents[];
  /** [n] by row of the sample */
  readonly cluster: Int32Array;
}

/** The gap of k-means with its band, the k-distance plot, and the plan of the clusters. */
export function clustersFigure(summary: Summary, drawing: ClusterDrawing): Scene {
  return stackScenes(
    [planOf(summary, drawing), gapPlot(summary, drawing.sample), distancePlot(summary, drawing.ground)],
    `Clusters of finds. ${summary.sentence}`,
  );
}

/** Sums of squares over those of random points, for 1, 2 … groups. */
function gapPlot({ k_means: parted }: Summary, sample: Sample): Scene {
  const { curve } = parted;
  const x = curve.map(({ k }) => k);
  const isCompared = curve.some(({ random_sse_m2 }) => random_sse_m2 !== null);
  const base = curve.map(({ random_sse_m2 }) => random_sse_m2 ?? curve[0].sse_m2);
  const over = (values: readonly (number | null)[]) => values.map((v, i) => (v === null ? Number.NaN : v / base[i]));
  const hasBand = curve.some(({ low_m2 }) => low_m2 !== null);
  const chosen: Curve[] =
    parted.k === null || curve[parted.k - 1] === undefined
      ? []
      : [
          {
            name: `k = ${parted.k}, ${parted.k_rule}`,
            x: [parted.k],
            y: [curve[parted.k - 1].sse_m2 / base[parted.k - 1]],
            style: 'class2',
          },
        ];
  return plotCurves({
    title: 'k-means against random points in the same window',
    subtitle: isCompared
      ? 'Below the band the finds lie nearer to the centres of their groups than chance would have it.'
      : 'No simulations: sums of squares over that of one group.',
    xTitle: 'number of groups k',
    yTitle: isCompared ? 'sum of squares, finds / random points' : 'sum of squares, k groups / one group',
    curves: [
      ...(isCompared ? [{ name: 'random points, mean', x, y: x.map(() => 1), style: 'reference' as const }] : []),
      { name: 'finds', x, y: over(curve.map(({ sse_m2 }) => sse_m2)), style: 'observed' },
      ...chosen,
    ],
    ...(hasBand
      ? {
          bands: [
            {
              name: 'band that 1 in 20 random scatters leaves anywhere',
              x,
              low: over(curve.map(({ low_m2 }) => low_m2)),
              high: over(curve.map(({ high_m2 }) => high_m2)),
            },
          ],
        }
      : {}),
    notes: [
      `${parted.restarts} restarts, k-means++, seed ${parted.seed}`,
      ...(parted.p === null ? [] : [`p = ${Number(parted.p.toPrecision(2))} for the whole curve`]),
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}

const mostPlaces = 400;

/** Sorted distances to the neighbour that makes a find a core: a knee parts heaps from strays. */
function distancePlot({ n, density, window_area_m2: areaM2 }: Summary, ground: Ground): Scene {
  const order = density.min_finds - 1;
  const distances = n > order ? lastColumn(kthNearestDistances(ground.xy, order), order).sort() : new Float64Array(0);
  const at = Array.from({ length: Math.min(distances.length, mostPlaces) }, (_, i) =>
    distances.length <= mostPlaces ? i : Math.round((i * (distances.length - 1)) / (mostPlaces - 1)),
  );
  const share = at.map((i) => (100 * (i + 0.5)) / distances.length);
  const curves: Curve[] = [{ name: 'finds', x: share, y: at.map((i) => distances[i]), style: 'observed' }];
  if (distances.length > 0) {
    const farthest = Math.max(distances[distances.length - 1], density.reach_m ?? 0);
    const r = Array.from({ length: 121 }, (_, i) => (farthest * i) / 120);
    curves.push({
      name: 'random, without edge',
      x: r.map((d) => 100 * chiSquareLowerTail((2 * n * Math.PI * d * d) / areaM2, 2 * order)),
      y: r,
      style: 'class3',
    });
  }
  if (density.reach_m !== null) {
    curves.push({ name: 'reach', x: [0, 100], y: [density.reach_m, density.reach_m], style: 'reference' });
  }
  return plotCurves({
    title: `Distance to the ${order}${suffix(order)} nearest other find`,
    subtitle:
      'Finds below the reach are cores of density clusters; where the curve turns upward, heaps end and strays begin.',
    xTitle: 'share of finds, % from the nearest',
    yTitle: 'distance (m)',
    curves,
    notes: [`${density.min_finds} finds make a core: ${density.min_finds_rule}`, `reach: ${density.reach_rule}`],
  });
}

function lastColumn(rows: Float64Array, columns: number): Float64Array {
  return Float64Array.from({ length: rows.length / columns }, (_, i) => rows[(i + 1) * columns - 1]);
}

const suffix = (n: number) => (n % 100 > 10 && n % 100 < 14 ? 'th' : (['th', 'st', 'nd', 'rd'][n % 10] ?? 'th'));

const corners = (ring: Float64Array): Corner[] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

const ownLooks = 7;

function planOf(summary: Summary, { sample, contents, cluster }: ClusterDrawing): Scene {
  const style = (number: number) => `class${Math.min(number, ownLooks + 1)}` as `class${1 | 2 | 3 | 4 | 5 | 6 | 7 | 8}`;
  const members = (of: (number: number) => boolean): Corner[] =>
    [...cluster].flatMap((number, i) => (of(number) ? [[sample.xy[2 * i], sample.xy[2 * i + 1]] as const] : []));
  const drawn = contents.filter(({ row }) => row.cluster > 0);
  const own = drawn.filter(({ row }) => row.cluster <= ownLooks);
  const groups: PointGroup[] = own.map(({ row }) => ({
    name: `cluster ${row.cluster}`,
    points: members((number) => number === row.cluster),
    style: style(row.cluster),
  }));
  if (drawn.length > ownLooks) {
    groups.push({ name: 'smaller clusters', points: members((number) => number > ownLooks), style: 'class8' });
  }
  const outlines: PlanOutline[] = drawn.map(({ row, hull }) => ({
    name: row.cluster > ownLooks ? 'hulls of smaller clusters' : `hull of cluster ${row.cluster}`,
    points: corners(hull),
    style: style(row.cluster),
  }));
  return plotPlan({
    title: summary.method === 'density' ? 'Density clusters' : 'Groups of k-means',
    subtitle: summary.sentence,
    window: sample.window.rings.map(corners),
    points: members((number) => number === 0),
    pointsName: 'finds in none',
    groups,
    outlines: outlines.filter(({ points }) => points.length > 2),
    hull: sample.hull.flatMap((feature) =>
      feature.parts.map((part) => ({ closed: feature.type === 'area', points: corners(part) })),
    ),
    notes: [
      `n = ${summary.n}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
      ...sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`),
    ],
  });
}
