import { meridianConvergence } from '../domain/crs.js';
import { firstGridCrs } from '../domain/grid-crs.js';
import type { Survey } from '../domain/survey.js';
import { excavatedWindow } from '../domain/window.js';
import { classLegend } from '../figures/map-style.js';
import { plotPlan } from '../figures/plots.js';
import { svgText } from '../figures/svg.js';
import { type Region, ringArea } from '../math/rings.js';
import { Problem } from '../problems.js';
import type { PublishedCollection } from './published-collection.js';
import type { Sheet } from './service.js';
import { classKeys } from './site-style.js';

/** Collections on the map from the start; levels, nodes and squares would hide the finds. */
const firstShown: readonly string[] = [
  'excavated-areas',
  'hull-lines',
  'hull-areas',
  'ship-axes',
  'find-lines',
  'finds',
];

/** What the first page of a site draws and says beside its collections. */
export function siteSheet(survey: Survey, collections: ReadonlyMap<string, PublishedCollection>): Sheet {
  const { frame } = survey;
  const { grid } = frame;
  const widthM = grid.columns * grid.node_spacing;
  const heightM = grid.rows * grid.node_spacing;
  const window = windowOrNull(survey);
  const [lon, lat] = frame.toLonLat(widthM / 2, heightM / 2);
  return {
    windowAreaM2: window?.areaM2 ?? null,
    legend: classLegend(classKeys(survey)),
    planSvg: window ? svgText(sitePlan(survey, window.region, window.areaM2)) : null,
    siteNorthAzimuthDeg: grid.azimuth_deg + meridianConvergence(frame.projection, lon, lat),
    grid: {
      widthM,
      heightM,
      origin: frame.toLonLat(0, 0),
      alongX: frame.toLonLat(widthM, 0),
      alongY: frame.toLonLat(0, heightM),
    },
    shown: firstShown.filter((id) => collections.has(id)),
    siteGridProj: firstGridCrs(survey.site)?.proj ?? null,
  };
}

function windowOrNull(survey: Survey): { region: Region; areaM2: number } | null {
  try {
    return excavatedWindow(survey.table('excavated-areas'), new Set(), null);
  } catch (error) {
    // a site before its first dig has a page too
    if (error instanceof Problem && error.code === 'no-window') return null;
    throw error;
  }
}

const corners = (ring: Float64Array): [number, number][] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

function sitePlan(survey: Survey, window: Region, areaM2: number) {
  const finds = survey.collection('finds');
  const xy = finds?.geometry?.coordinates ?? new Float64Array(0);
  const points = corners(xy).filter(([x]) => !Number.isNaN(x));
  return plotPlan({
    title: survey.site.name,
    subtitle: 'Dug area, hull and finds recorded as points',
    window: [...window.rings].sort((a, b) => ringArea(b) - ringArea(a)).map(corners),
    points,
    hull: survey.hull.flatMap((element) =>
      element.parts.map((part) => ({ closed: element.type === 'area', points: corners(part) })),
    ),
    notes: [
      `Site ${survey.site.id}, data version ${survey.version}`,
      `${points.length} finds as points, dug area ${Math.round(areaM2)} m²`,
    ],
  });
}
