import { intersection } from '../math/overlay.js';
import { contains, edgeSlack, orientRings, type Region, regionArea, regionBox } from '../math/rings.js';
import { Problem } from '../problems.js';
import { numbers, wordReader } from './columns.js';
import { meridianConvergence } from './crs.js';
import type { FeatureTable } from './feature-table.js';
import { registerEntries } from './register-entries.js';
import type { AreaPosition, Sample, SiteNorths } from './sample.js';
import { dugAreas, joinsWithin, levelReadings, namedRegions, positionDetail, undugAreas } from './sample-detail.js';
import type { Survey } from './survey.js';
import { surveyReadings } from './survey-readings.js';
import { excavatedWindow, type Window } from './window.js';

/** What of a survey an analysis is asked about. */
export interface SampleRequest {
  readonly seasons: readonly string[];
  readonly classes: readonly string[];
  readonly identifiedAsOf: string | null;
  /** [finds] 1 = fits the filter of the request; absent = there is none */
  readonly fits?: Uint8Array;
  /** only this part of the dug area, site-grid metres; null = all of it */
  readonly within: Region | null;
  readonly countUnit: 'find' | 'piece' | 'pot_vessel' | 'weight';
  readonly spot: 'concretion' | 'find';
  readonly squareOnly: 'exclude' | 'spread';
  /** no: an answer about readings, not about ground; without a dug area the window is then empty */
  readonly needsWindow?: boolean;
  /** yes: every find chosen comes along as the register counts it */
  readonly needsRegister?: boolean;
}

/** Finds that stand for one position: a single find, the children of one concretion, the sherds of one pot vessel. */
interface Spot {
  readonly rows: number[];
}

/**
 * The finds of a selection as an analysis wants them: positions inside the dug area, one for each spot, with every
 * find that was left out counted under its reason.
 * @throws Problem unknown-season, unknown-class, no-window, bad-window
 */
export function makeSample(survey: Survey, request: SampleRequest): Sample {
  const seasons = checkedSeasons(survey, request.seasons);
  const classes = chosenClasses(survey, request.classes);
  const window = windowFor(survey, seasons, request);
  const inside = insideTest(window);
  const insideWindow = clippedAreas(window);
  const excluded = new Map<string, number>();
  const leaveOut = (reason: string) => excluded.set(reason, (excluded.get(reason) ?? 0) + 1);

  const { finds, placed } = survey;
  const season = wordReader(finds, 'season');
  const classOf = survey.classAt(request.identifiedAsOf);
  const weigh = weights(finds, request.countUnit);
  const keyOf = spotKeys(finds, request);
  const wanted = (row: number) => seasons.size === 0 || seasons.has(season(row) ?? '');
  const spots = new Map<string, Spot>();
  const areas: AreaPosition[] = [];
  const classNumber = codes(classes.list);
  const seasonNumber = codes(survey.seasons);
  const register: number[] = [];
  let selected = 0;
  for (let row = 0; row < finds.length; row++) {
    const name = classOf.words[classOf.codes[row]];
    if (!wanted(row) || request.fits?.[row] === 0 || (classes.chosen !== null && !classes.chosen.has(name))) continue;
    selected++;
    if (request.needsRegister) register.push(row);
    const weight = weigh.of(row);
    if (Number.isNaN(weight)) {
      leaveOut(weigh.missing);
      continue;
    }
    const ring = placed.area[row];
    if (ring !== null) {
      if (request.squareOnly === 'exclude') {
        leaveOut('known by an area only (square, part of a square, drawn area)');
        continue;
      }
      const region = insideWindow(ring);
      const areaM2 = regionArea(region);
      if (!(areaM2 > 1e-9)) {
        leaveOut('area outside the window');
        continue;
      }
      areas.push({
        label: wordReader(finds, 'find')(row) ?? '',
        region,
        areaM2,
        weight,
        classCode: classNumber(name),
        seasonCode: seasonNumber(season(row) ?? ''),
        square: placed.square[row],
      });
      continue;
    }
    const x = placed.xy[2 * row];
    const y = placed.xy[2 * row + 1];
    if (Number.isNaN(x)) {
      leaveOut(`position ${placed.kind[row].replace('_', ' ')}`);
      continue;
    }
    if (!inside(x, y)) {
      leaveOut('outside the window');
      continue;
    }
    const key = keyOf(row, name);
    const spot = spots.get(key);
    if (spot) spot.rows.push(row);
    else spots.set(key, { rows: [row] });
  }

  const positions = [...spots.values()];
  const classAt = (row: number) => classOf.words[classOf.codes[row]];
  const merged = positions.reduce((sum, spot) => sum + spot.rows.length - 1, 0);
  if (merged > 0) {
    excluded.set(
      request.countUnit === 'pot_vessel'
        ? 'sherds counted with their pot vessel'
        : 'children counted with their concretion as one spot',
      merged,
    );
  }
  return {
    site: survey.site.id,
    dataVersion: survey.version,
    ...spotColumns(survey, positions, {
      unit: request.countUnit,
      weigh: weigh.of,
      classNumber,
      seasonNumber,
      classAt,
    }),
    classes: classes.list,
    seasons: survey.seasons,
    areas,
    others: otherFinds(survey, {
      wanted,
      inside,
      classNumber,
      classAt,
      spot: request.spot,
    }),
    window: window.region,
    windowAreaM2: window.areaM2,
    windowSource: window.source,
    hull: survey.hull,
    shipAxis: survey.shipAxis,
    dug: dugAreas(survey, seasons),
    undug: undugAreas(survey, seasons),
    grid: survey.frame.grid,
    detail: positionDetail(
      survey,
      positions.map(({ rows }) => rows[0]),
      classAt,
    ),
    levels: levelReadings(survey, seasons),
    bathymetry: survey.bathymetry,
    readings: surveyReadings(survey),
    zones: namedRegions(survey.table('ship-zones'), { name: 'zone', kind: 'deck' }),
    contexts: namedRegions(survey.table('contexts'), { name: 'number', kind: 'kind' }),
    joins: joinsWithin(survey, findPositions(survey, positions)),
    mapAzimuthDeg: survey.frame.grid.azimuth_deg,
    norths: siteNorths(survey),
    verticalDatum: survey.site.vertical_datum.name,
    excluded: [...excluded].map(([reason, count]) => ({ reason, count })),
    selected,
    counting: { unit: request.countUnit, spot: request.spot },
    ...(request.needsRegister
      ? { register: registerEntries(survey, register, { classAt: classOf, classNumber, seasonNumber }) }
      : {}),
  };
}

/** Azimuths of site_north at the middle of the grid. */
function siteNorths({ frame, site }: Survey): SiteNorths {
  const { grid } = frame;
  const [lon, lat] = frame.toLonLat((grid.columns * grid.node_spacing) / 2, (grid.rows * grid.node_spacing) / 2);
  const fromTrueNorthDeg = grid.azimuth_deg + meridianConvergence(frame.projection, lon, lat);
  const { declination } = site;
  return {
    fromTrueNorthDeg,
    fromMagneticNorthDeg: declination ? fromTrueNorthDeg - declination.degrees : null,
    declinationDate: declination?.date ?? null,
    ...(declination ? { declinationDeg: declination.degrees } : {}),
  };
}

function windowFor(survey: Survey, seasons: ReadonlySet<string>, request: SampleRequest): Window {
  try {
    return excavatedWindow(survey.table('excavated-areas'), seasons, request.within);
  } catch (error) {
    if (request.needsWindow !== false || !(error instanceof Problem) || error.code !== 'no-window') throw error;
    return { region: { rings: [] }, areaM2: 0, source: 'no dug area' };
  }
}

/** The seasons asked for. @throws Problem unknown-season */
export function checkedSeasons(survey: Survey, asked: readonly string[]): ReadonlySet<string> {
  const known = new Set(survey.seasons);
  for (const season of asked) {
    if (!known.has(season)) {
      throw new Problem(
        'unknown-season',
        `season "${season}" is not known here; the seasons are ${survey.seasons.join(', ')}`,
        { season },
      );
    }
  }
  return new Set(asked);
}

function chosenClasses(
  survey: Survey,
  asked: readonly string[],
): { chosen: ReadonlySet<string> | null; list: readonly string[] } {
  if (asked.length === 0) return { chosen: null, list: survey.classTree.classes.map((c) => c.id) };
  const chosen = new Set(asked.flatMap((id) => [...survey.classTree.withChildren(id)]));
  return { chosen, list: survey.classTree.classes.map((c) => c.id).filter((id) => chosen.has(id)) };
}

/** 1-based number of a word in a list; 0 = not in it. */
function codes(list: readonly string[]): (word: string) => number {
  const index = new Map(list.map((word, i) => [word, i + 1]));
  return (word) => index.get(word) ?? 0;
}

/** The part of an area inside the window; many finds share one square, so each is cut once. */
function clippedAreas(window: Window): (ring: Float64Array) => Region {
  const cut = new Map<string, Region>();
  return (ring) => {
    const key = ring.join(' ');
    let region = cut.get(key);
    if (!region) {
      region = intersection(orientRings([[ring]]), window.region);
      cut.set(key, region);
    }
    return region;
  };
}

function insideTest(window: Window): (x: number, y: number) => boolean {
  const [west, south, east, north] = regionBox(window.region);
  const slack = edgeSlack(window.region);
  return (x, y) =>
    x >= west - slack &&
    x <= east + slack &&
    y >= south - slack &&
    y <= north + slack &&
    contains(window.region, x, y, slack);
}

function weights(
  finds: FeatureTable,
  unit: SampleRequest['countUnit'],
): { of: (row: number) => number; missing: string } {
  if (unit === 'piece') {
    const count = numbers(finds, 'count');
    return { of: (row) => count[row], missing: 'number of pieces not known' };
  }
  if (unit === 'weight') {
    const grams = numbers(finds, 'weight_g');
    return { of: (row) => grams[row], missing: 'weight not known' };
  }
  if (unit === 'pot_vessel') {
    const vessel = wordReader(finds, 'pot_vessel');
    return { of: (row) => (vessel(row) === null ? Number.NaN : 1), missing: 'belongs to no known pot vessel' };
  }
  return { of: () => 1, missing: '' };
}

/** What makes two finds one spot. With several classes asked for, each class of a concretion is a spot of its own. */
function spotKeys(finds: FeatureTable, request: SampleRequest): (row: number, className: string) => string {
  const label = wordReader(finds, 'find');
  const concretion = wordReader(finds, 'concretion');
  const vessel = wordReader(finds, 'pot_vessel');
  const several = request.classes.length > 1;
  return (row, className) => {
    const suffix = several ? `|${className}` : '';
    if (request.countUnit === 'pot_vessel') return `pot ${vessel(row)}${suffix}`;
    if (request.spot === 'concretion') return `spot ${concretion(row) ?? label(row)}${suffix}`;
    return `find ${label(row)}`;
  };
}

function spotColumns(
  survey: Survey,
  spots: readonly Spot[],
  of: {
    readonly unit: SampleRequest['countUnit'];
    weigh(row: number): number;
    classNumber(word: string): number;
    seasonNumber(word: string): number;
    classAt(row: number): string;
  },
): Pick<Sample, 'xy' | 'weight' | 'classCode' | 'seasonCode' | 'z' | 'sigmaXy' | 'label'> {
  const { finds, placed } = survey;
  const z = numbers(finds, 'z_elevation');
  const sigma = numbers(finds, 'sigma_xy');
  const label = wordReader(finds, 'find');
  const season = wordReader(finds, 'season');
  const n = spots.length;
  const out = {
    xy: new Float64Array(2 * n),
    weight: new Float64Array(n),
    classCode: new Uint32Array(n),
    seasonCode: new Uint32Array(n),
    z: new Float64Array(n),
    sigmaXy: new Float64Array(n),
    label: new Array<string>(n),
  };
  spots.forEach(({ rows }, i) => {
    const first = rows[0];
    // a pot vessel lies where its sherds lie on average; a concretion's children lie where the concretion lay
    const centre =
      of.unit === 'pot_vessel' ? meanPosition(placed.xy, rows) : [placed.xy[2 * first], placed.xy[2 * first + 1]];
    out.xy.set(centre, 2 * i);
    out.weight[i] = of.unit === 'piece' || of.unit === 'weight' ? rows.reduce((sum, row) => sum + of.weigh(row), 0) : 1;
    out.classCode[i] = of.classNumber(of.classAt(first));
    out.seasonCode[i] = of.seasonNumber(season(first) ?? '');
    out.z[i] = z[first];
    out.sigmaXy[i] = sigma[first];
    out.label[i] = label(first) ?? '';
  });
  return out;
}

/** Find number → position that stands for it. */
function findPositions(survey: Survey, positions: readonly Spot[]): Map<string, number> {
  const label = wordReader(survey.finds, 'find');
  const out = new Map<string, number>();
  positions.forEach(({ rows }, k) => {
    for (const row of rows) out.set(label(row) ?? '', k);
  });
  return out;
}

function meanPosition(xy: Float64Array, rows: readonly number[]): [number, number] {
  const x0 = xy[2 * rows[0]];
  const y0 = xy[2 * rows[0] + 1];
  let dx = 0;
  let dy = 0;
  for (const row of rows) {
    dx += xy[2 * row] - x0;
    dy += xy[2 * row + 1] - y0;
  }
  return [x0 + dx / rows.length, y0 + dy / rows.length];
}

/** All finds of the seasons with a position in the window, one for each spot: the crowd a class is compared with. */
function otherFinds(
  survey: Survey,
  of: {
    wanted(row: number): boolean;
    inside(x: number, y: number): boolean;
    classNumber(word: string): number;
    classAt(row: number): string;
    readonly spot: SampleRequest['spot'];
  },
): Sample['others'] {
  const { finds, placed } = survey;
  const concretion = wordReader(finds, 'concretion');
  const xy: number[] = [];
  const classCode: number[] = [];
  const seen = new Set<string>();
  for (let row = 0; row < finds.length; row++) {
    const x = placed.xy[2 * row];
    const y = placed.xy[2 * row + 1];
    if (Number.isNaN(x) || !of.wanted(row) || !of.inside(x, y)) continue;
    const name = of.classAt(row);
    const parent = of.spot === 'concretion' ? concretion(row) : null;
    if (parent !== null) {
      const key = `${parent}|${name}`;
      if (seen.has(key)) continue;
      seen.add(key);
    }
    xy.push(x, y);
    classCode.push(of.classNumber(name));
  }
  return { xy: Float64Array.from(xy), classCode: Uint32Array.from(classCode) };
}
