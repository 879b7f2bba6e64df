import type { HullElement, LevelReadings, Sample, SurveyReadings } from '../domain/sample.js';
import { unknownDetail } from '../domain/sample-detail.js';
import { polygonsRegion } from '../math/overlay.js';
import { contains, edgeSlack, type Region, regionArea } from '../math/rings.js';
import { Problem } from '../problems.js';

/** Points of a plain file, one array for each column, all of length n. */
export interface PlainPoints {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** empty text = not given */
  readonly classes: readonly string[];
  readonly seasons: readonly string[];
  readonly z: Float64Array;
  readonly weight: Float64Array;
}

/**
 * A sample from plain files, in whatever plane metres they are: no site, no register, the window as given. Points on
 * an edge of the window are inside (slack 1e-9 of its extent); points outside are left out and counted.
 */
export function plainSample(given: {
  /** null: an answer about levels or readings, not about finds */
  readonly points: PlainPoints | null;
  /** null: the box around the levels, or none at all */
  readonly window: Region | null;
  readonly hull: readonly HullElement[];
  readonly levels?: LevelReadings | null;
  readonly readings?: SurveyReadings | null;
  readonly chosenClasses: readonly string[];
  readonly chosenSeasons: readonly string[];
}): Sample {
  const points = given.points ?? noPoints;
  const window = given.window ?? levelBox(given.levels ?? null);
  const classes = distinct(points.classes);
  const seasons = distinct(points.seasons);
  refuseUnknown('unknown-class', 'class', given.chosenClasses, classes);
  refuseUnknown('unknown-season', 'season', given.chosenSeasons, seasons);
  const chosenSeasons = given.chosenSeasons.length > 0 ? given.chosenSeasons : seasons;
  const slack = edgeSlack(window);
  const rows: number[] = [];
  const others: number[] = [];
  let selected = 0;
  for (let i = 0; i < points.x.length; i++) {
    const inside = contains(window, points.x[i], points.y[i], slack);
    if (given.chosenSeasons.length > 0 && !given.chosenSeasons.includes(points.seasons[i])) continue;
    if (inside) others.push(i);
    if (given.chosenClasses.length > 0 && !given.chosenClasses.includes(points.classes[i])) continue;
    selected++;
    if (inside) rows.push(i);
  }
  const outside = selected - rows.length;
  const pair = (list: readonly number[]) => Float64Array.from(list.flatMap((i) => [points.x[i], points.y[i]]));
  const code = (words: readonly string[], names: readonly string[]) => (i: number) => names.indexOf(words[i]) + 1;
  return {
    site: null,
    dataVersion: null,
    xy: pair(rows),
    weight: Float64Array.from(rows, (i) => (Number.isNaN(points.weight[i]) ? 1 : points.weight[i])),
    classCode: Uint32Array.from(rows, code(points.classes, classes)),
    classes: given.chosenClasses.length > 0 ? given.chosenClasses : classes,
    seasonCode: Uint32Array.from(rows, code(points.seasons, chosenSeasons)),
    // a season that was not asked for is no season in which nothing was found
    seasons: chosenSeasons,
    z: Float64Array.from(rows, (i) => points.z[i]),
    sigmaXy: new Float64Array(rows.length).fill(Number.NaN),
    label: rows.map((i) => String(i + 1)),
    areas: [],
    others: { xy: pair(others), classCode: Uint32Array.from(others, code(points.classes, classes)) },
    window,
    windowAreaM2: regionArea(window),
    windowSource: given.window ? 'the window file' : 'the box around the levels',
    hull: given.hull,
    shipAxis: null,
    dug: [
      {
        season: '',
        progress: 'part_dug',
        region: window,
        areaM2: regionArea(window),
        dugFraction: 1,
        meshMm: null,
        tool: null,
      },
    ],
    grid: null,
    detail: unknownDetail(rows.length),
    levels: given.levels ?? null,
    readings: given.readings ?? null,
    zones: [],
    contexts: [],
    joins: [],
    mapAzimuthDeg: 0,
    excluded: outside > 0 ? [{ reason: 'outside the window', count: outside }] : [],
    selected,
  };
}

const noPoints: PlainPoints = {
  x: new Float64Array(0),
  y: new Float64Array(0),
  classes: [],
  seasons: [],
  z: new Float64Array(0),
  weight: new Float64Array(0),
};

/** Surfaces are masked by their own nodes; the box only says where to look. */
function levelBox(levels: LevelReadings | null): Region {
  if (!levels || levels.x.length === 0) return { rings: [] };
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < levels.x.length; i++) {
    west = Math.min(west, levels.x[i]);
    east = Math.max(east, levels.x[i]);
    south = Math.min(south, levels.y[i]);
    north = Math.max(north, levels.y[i]);
  }
  return east > west && north > south
    ? { rings: [Float64Array.of(west, south, east, south, east, north, west, north)] }
    : { rings: [] };
}

const distinct = (words: readonly string[]): string[] => [...new Set(words)].filter((word) => word !== '');

function refuseUnknown(
  code: 'unknown-class' | 'unknown-season',
  what: string,
  asked: readonly string[],
  known: readonly string[],
): void {
  for (const word of asked) {
    if (known.includes(word)) continue;
    throw new Problem(code, `no point has the ${what} "${word}"; the file has ${known.join(', ') || 'none'}`, {
      [what]: word,
    });
  }
}

interface PlainGeometry {
  readonly type: string;
  readonly coordinates: unknown;
}

function features(text: string, file: string): { geometry: PlainGeometry; properties: Record<string, unknown> }[] {
  let json: { type?: string; features?: unknown[]; geometry?: unknown; properties?: unknown };
  try {
    json = JSON.parse(text);
  } catch (error) {
    throw new Problem('bad-file', `${file} is not JSON: ${error instanceof Error ? error.message : String(error)}`, {
      file,
    });
  }
  const list =
    (json?.type === 'FeatureCollection'
      ? json.features
      : json?.type === 'Feature'
        ? [json]
        : [{ type: 'Feature', geometry: json, properties: {} }]) ?? [];
  return (list as { geometry: PlainGeometry | null; properties: Record<string, unknown> | null }[])
    .filter((feature) => feature?.geometry)
    .map((feature) => ({ geometry: feature.geometry as PlainGeometry, properties: feature.properties ?? {} }));
}

function ring(value: unknown, place: string, least: number): [number, number][] {
  const corners = Array.isArray(value) ? value : [];
  for (const corner of corners) {
    if (!Array.isArray(corner) || !Number.isFinite(corner[0]) || !Number.isFinite(corner[1])) {
      throw new Problem('bad-geometry', `${place}: ${JSON.stringify(corner)} is not a pair of numbers`);
    }
  }
  if (corners.length < least)
    throw new Problem('bad-geometry', `${place}: ${corners.length} corners, at least ${least} are needed`);
  return corners.map(([x, y]) => [x, y]);
}

/**
 * The window of a plain file: polygons with holes in plane metres, rings in any order.
 * @throws Problem bad-file, bad-geometry, bad-window
 */
export function plainWindow(text: string, file: string): Region {
  const polygons: [number, number][][][] = [];
  for (const { geometry } of features(text, file)) {
    if (geometry.type !== 'Polygon' && geometry.type !== 'MultiPolygon') {
      throw new Problem('bad-window', `${file}: a window is made of polygons, this has a ${geometry.type}`, { file });
    }
    const list = (geometry.type === 'Polygon' ? [geometry.coordinates] : geometry.coordinates) as unknown[][];
    for (const rings of list) polygons.push(rings.map((r, k) => ring(r, `${file}, ring ${k + 1}`, 4)));
  }
  const region = polygonsRegion(polygons);
  if (!(regionArea(region) > 0)) throw new Problem('bad-window', `${file}: the window has no area`, { file });
  return region;
}

/**
 * Hull features of a plain file: lines or polygons with a property `element`.
 * @throws Problem bad-file, bad-geometry
 */
export function plainHull(text: string, file: string): HullElement[] {
  return features(text, file).map(({ geometry, properties }, k) => {
    const place = `${file}, feature ${k + 1}`;
    const base = {
      number: String(properties['number'] ?? k + 1),
      element: String(properties['element'] ?? 'hull'),
      state: 'unknown' as const,
      place: 'unknown' as const,
      outline: 'unknown' as const,
    };
    const flat = (corners: [number, number][]) => Float64Array.from(corners.flat());
    switch (geometry.type) {
      case 'LineString':
        return { ...base, type: 'line', parts: [flat(ring(geometry.coordinates, place, 2))] };
      case 'MultiLineString':
        return {
          ...base,
          type: 'line',
          parts: (geometry.coordinates as unknown[]).map((r) => flat(ring(r, place, 2))),
        };
      case 'Polygon':
        return {
          ...base,
          type: 'area',
          parts: [...polygonsRegion([(geometry.coordinates as unknown[]).map((r) => ring(r, place, 4))]).rings],
        };
      case 'MultiPolygon':
        return {
          ...base,
          type: 'area',
          parts: [
            ...polygonsRegion((geometry.coordinates as unknown[][]).map((rings) => rings.map((r) => ring(r, place, 4))))
              .rings,
          ],
        };
      default:
        throw new Problem(
          'bad-geometry',
          `${place}: a hull feature is a line or a polygon, this is a ${geometry.type}`,
          { file },
        );
    }
  });
}
