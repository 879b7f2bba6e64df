import type { Sample } from '../../domain/sample.js';
import { plotPlan } from '../../figures/plots.js';
import { plotRose } from '../../figures/rose-plot.js';
import type { Scene } from '../../figures/scene.js';
import { ellipseRing } from '../../math/centre.js';
import type { Ground } from './ground.js';
import type { Parameters, Summary } from './schemas.js';

interface Drawn {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly ground: Ground;
}

/** A plan with centres and ellipse, or a rose of the long objects. */
export function figureOf(summary: Summary, drawn: Drawn): Scene {
  const { own } = drawn;
  const objects = summary.long_objects?.n ?? 0;
  const wantsRose = own.drawing === 'rose' || (own.drawing === 'auto' && objects >= 5 && 2 * objects >= summary.n);
  return wantsRose ? rose(summary, drawn) : plan(summary, drawn);
}

const corners = (ring: ArrayLike<number>): [number, number][] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

function norths({ sample }: Drawn) {
  const others = [
    { name: 'map_grid_north', azimuth: sample.mapAzimuthDeg === 0 ? null : sample.mapAzimuthDeg },
    { name: 'magnetic_north', azimuth: sample.norths?.fromMagneticNorthDeg ?? null },
  ];
  return others.flatMap(({ name, azimuth }) => (azimuth === null ? [] : [{ name, fromSiteNorthDeg: -azimuth }]));
}

function notes(summary: Summary, { sample }: Drawn): string[] {
  return [
    `n = ${summary.n}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
    ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ...sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`),
  ];
}

function plan(summary: Summary, drawn: Drawn): Scene {
  const { sample } = drawn;
  const { ellipse, mean_centre: mean, median_centre: median } = summary;
  const outline =
    ellipse && mean
      ? corners(
          ellipseRing(
            { x: mean[0], y: mean[1] },
            { bearingDeg: ellipse.bearing_deg, semiMajorM: ellipse.semi_major_m, semiMinorM: ellipse.semi_minor_m },
          ),
        )
      : [];
  const mark = (name: string, place: readonly number[] | null, style: 'class6' | 'class5') =>
    place === null ? [] : [{ name, points: [[place[0], place[1]] as const], style, sizeMm: 2.6 }];
  return plotPlan({
    title: 'Centre and spread of finds',
    subtitle: summary.sentence,
    window: sample.window.rings.map(corners),
    points: corners(sample.xy),
    groups: [...mark('mean centre', mean, 'class6'), ...mark('median centre', median, 'class5')],
    hull: sample.hull.flatMap((element) =>
      element.parts.map((part) => ({ closed: element.type === 'area', points: corners(part) })),
    ),
    outlines:
      outline.length > 0 ? [{ name: 'standard deviational ellipse, divisor n', points: outline, style: 'class2' }] : [],
    norths: norths(drawn),
    notes: notes(summary, drawn),
  });
}

function rose(summary: Summary, drawn: Drawn): Scene {
  const { sample, own, ground } = drawn;
  const { long_objects: objects, slope } = summary;
  const mean = objects?.mean_direction_deg ?? null;
  return plotRose({
    title: 'Directions of long objects',
    subtitle: summary.sentence,
    directions: sample.detail.orientationDeg,
    kind: own.axial ? 'axial' : 'directed',
    name: `${objects?.n ?? 0} long objects`,
    mean: mean === null ? null : { deg: mean, errorDeg: objects?.error_deg ?? null },
    references: [
      ...(ground.shipAxisDeg === null ? [] : [{ name: 'ship axis', deg: ground.shipAxisDeg, kind: 'axial' as const }]),
      ...(slope?.downslope_deg == null
        ? []
        : [{ name: 'downslope of the deposit bottom', deg: slope.downslope_deg, kind: 'directed' as const }]),
    ],
    norths: norths(drawn),
    notes: notes(summary, drawn),
  });
}
