import { Problem } from '../problems.js';

/** Level readings as columns, all of one length: place in metres, elevation up-positive, what was levelled and when. */
export interface LevelColumns {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly elevation: Float64Array;
  /** standard deviation of one reading, metres; NaN = not stated */
  readonly sigma: Float64Array;
  readonly surface: readonly string[];
  readonly season: readonly string[];
  readonly node: readonly (string | null)[];
  /** kept or set_aside; null = kept */
  readonly state: readonly (string | null)[];
}

/** Which surface is asked for, and how several seasons at one node become one value. */
export interface NodeRequest {
  /** one of the levelled surfaces, or thickness = deposit_top − deposit_bottom */
  readonly surface: string;
  readonly nodeValue: 'newest' | 'mean';
  /** all seasons, oldest first */
  readonly seasons: readonly string[];
}

/** One value for each levelled place, all arrays [n]. */
export interface SurfaceNodes {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  /** random standard deviation of the value; NaN = not stated */
  readonly sigma: Float64Array;
  readonly label: readonly (string | null)[];
  /** readings behind the value */
  readonly readings: Uint32Array;
  /** number of the newest season behind the value, 0 = oldest; −1 = season not named */
  readonly rank: Int32Array;
  /** [n × seasonNames] share of each season in the value */
  readonly seasonNames: readonly string[];
  readonly seasonShare: Float64Array;
  /** nodes levelled more than once in the season used, and the largest spread of such readings, metres */
  readonly repeated: number;
  readonly largestSpreadM: number;
  /** readings of the surface that were set aside */
  readonly setAside: number;
  /** thickness only: nodes whose top and bottom come from different seasons */
  readonly mixedSeasons: number;
}

interface SeasonReadings {
  sum: number;
  varianceSum: number;
  count: number;
  low: number;
  high: number;
}

interface Place {
  readonly x: number;
  readonly y: number;
  label: string | null;
  readonly bySeason: Map<string, SeasonReadings>;
}

interface PlaceValue {
  readonly z: number;
  readonly variance: number;
  readonly readings: number;
  readonly spreadM: number;
  readonly repeated: boolean;
  readonly seasons: readonly string[];
}

/** places closer than this are one node, metres */
const samePlaceM = 1e-4;

/**
 * The values of one surface at its nodes: readings of one node and season are averaged, readings set aside do not
 * count, and of several seasons the newest counts, or all with equal weight.
 *
 * Thickness is the difference of top and bottom of one season where a season has both; else of whatever was levelled.
 *
 * @throws Problem cannot-answer when nothing was levelled of that surface
 */
export function surfaceNodes(levels: LevelColumns | null, request: NodeRequest): SurfaceNodes {
  if (levels === null || levels.x.length === 0) {
    throw new Problem(
      'cannot-answer',
      'no levels in this selection: a surface needs level readings (levels.csv of a site, or --levels L.csv with x,y,surface,elevation)',
    );
  }
  const order = seasonOrder(levels, request.seasons);
  const found =
    request.surface === 'thickness'
      ? thicknessValues(levels, request, order)
      : elevationValues(levels, request.surface, request, order);
  if (found.length === 0) {
    throw new Problem(
      'cannot-answer',
      `no levels of ${request.surface} in this selection; there are ${inventory(levels)}`,
      {
        surface: request.surface,
      },
    );
  }
  return columnsOf(found, { levels, request, order });
}

interface Found {
  readonly place: Place;
  readonly value: PlaceValue;
  readonly isMixed: boolean;
}

function elevationValues(levels: LevelColumns, surface: string, request: NodeRequest, order: SeasonOrder): Found[] {
  return [...placesOf(levels, surface).values()].map((place) => ({
    place,
    value: placeValue(place, request.nodeValue, order),
    isMixed: false,
  }));
}

function thicknessValues(levels: LevelColumns, request: NodeRequest, order: SeasonOrder): Found[] {
  const tops = placesOf(levels, 'deposit_top');
  const bottoms = placesOf(levels, 'deposit_bottom');
  const out: Found[] = [];
  for (const [key, top] of tops) {
    const bottom = bottoms.get(key);
    if (!bottom) continue;
    const both = [...top.bySeason.keys()].filter((season) => bottom.bySeason.has(season));
    const within = (place: Place): Place => ({
      ...place,
      bySeason: new Map([...place.bySeason].filter(([season]) => both.includes(season))),
    });
    const isMixed = both.length === 0;
    const [from, to] = isMixed ? [top, bottom] : [within(top), within(bottom)];
    const a = placeValue(from, request.nodeValue, order);
    const b = placeValue(to, request.nodeValue, order);
    out.push({
      place: top,
      isMixed,
      value: {
        z: a.z - b.z,
        variance: a.variance + b.variance,
        readings: a.readings + b.readings,
        spreadM: Math.max(a.spreadM, b.spreadM),
        repeated: a.repeated || b.repeated,
        seasons: [...new Set([...a.seasons, ...b.seasons])],
      },
    });
  }
  return out;
}

type SeasonOrder = ReadonlyMap<string, number>;

/** Seasons as the site lists them; seasons it does not list come after those by their name, an unnamed one before all. */
function seasonOrder(levels: LevelColumns, seasons: readonly string[]): SeasonOrder {
  const others = [...new Set(levels.season)].filter((s) => s !== '' && !seasons.includes(s)).sort();
  return new Map([['', -1], ...[...seasons, ...others].map((s, i): [string, number] => [s, i])]);
}

function placesOf(levels: LevelColumns, surface: string): Map<string, Place> {
  const places = new Map<string, Place>();
  for (let i = 0; i < levels.x.length; i++) {
    const x = levels.x[i];
    const y = levels.y[i];
    const z = levels.elevation[i];
    if (levels.surface[i] !== surface || levels.state[i] === 'set_aside') continue;
    if (!Number.isFinite(x) || !Number.isFinite(y) || !Number.isFinite(z)) continue;
    const key = `${Math.round(x / samePlaceM)} ${Math.round(y / samePlaceM)}`;
    let place = places.get(key);
    if (!place) {
      place = { x, y, label: levels.node[i], bySeason: new Map() };
      places.set(key, place);
    }
    place.label ??= levels.node[i];
    const season = levels.season[i];
    const readings = place.bySeason.get(season) ?? { sum: 0, varianceSum: 0, count: 0, low: z, high: z };
    readings.sum += z;
    readings.varianceSum += levels.sigma[i] ** 2;
    readings.count += 1;
    readings.low = Math.min(readings.low, z);
    readings.high = Math.max(readings.high, z);
    place.bySeason.set(season, readings);
  }
  return places;
}

function placeValue(place: Place, rule: NodeRequest['nodeValue'], order: SeasonOrder): PlaceValue {
  const seasons = [...place.bySeason.keys()].sort((a, b) => (order.get(a) ?? -1) - (order.get(b) ?? -1));
  const used = rule === 'newest' ? seasons.slice(-1) : seasons;
  let z = 0;
  let variance = 0;
  let readings = 0;
  let spreadM = 0;
  for (const season of used) {
    const { sum, varianceSum, count, low, high } = place.bySeason.get(season) as SeasonReadings;
    z += sum / count / used.length;
    variance += varianceSum / (count * used.length) ** 2;
    readings += count;
    if (count > 1) spreadM = Math.max(spreadM, high - low);
  }
  return { z, variance, readings, spreadM, repeated: readings > used.length, seasons: used };
}

function columnsOf(
  found: readonly Found[],
  { levels, request, order }: { levels: LevelColumns; request: NodeRequest; order: SeasonOrder },
): SurfaceNodes {
  const n = found.length;
  const seasonNames = [...order.keys()].filter((name) => found.some(({ value }) => value.seasons.includes(name)));
  const seasonShare = new Float64Array(n * seasonNames.length);
  found.forEach(({ value }, i) => {
    for (const season of value.seasons) {
      seasonShare[i * seasonNames.length + seasonNames.indexOf(season)] = 1 / value.seasons.length;
    }
  });
  const numbers = (of: (f: Found) => number) => Float64Array.from(found, of);
  const names = request.surface === 'thickness' ? ['deposit_top', 'deposit_bottom'] : [request.surface];
  return {
    x: numbers((f) => f.place.x),
    y: numbers((f) => f.place.y),
    z: numbers((f) => f.value.z),
    sigma: numbers((f) => Math.sqrt(f.value.variance)),
    label: found.map((f) => f.place.label),
    readings: Uint32Array.from(found, (f) => f.value.readings),
    rank: Int32Array.from(found, (f) => Math.max(...f.value.seasons.map((s) => order.get(s) ?? -1))),
    seasonNames,
    seasonShare,
    repeated: found.filter((f) => f.value.repeated).length,
    largestSpreadM: Math.max(0, ...found.map((f) => f.value.spreadM)),
    setAside: levels.state.filter((state, i) => state === 'set_aside' && names.includes(levels.surface[i])).length,
    mixedSeasons: found.filter((f) => f.isMixed).length,
  };
}

function inventory(levels: LevelColumns): string {
  const counts = new Map<string, number>();
  for (const surface of levels.surface) counts.set(surface, (counts.get(surface) ?? 0) + 1);
  return [...counts].map(([surface, count]) => `${count} of ${surface || 'no named surface'}`).join(', ');
}
