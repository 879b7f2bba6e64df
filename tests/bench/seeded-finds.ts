import { codeColumn, type FeatureTable, numberColumn, textColumn } from '../../src/domain/feature-table.js';
import type { Field } from '../../src/domain/fields.js';
import { randomStream } from '../../src/math/random.js';
import { lonLatToUnit, type TileAddress } from '../../src/tiles/matrix-set.js';

export const siteWidthM = 40;
export const siteHeightM = 25;
const westLon = 3;
const southLat = 40;
const metresPerDegree = 111_195;

/** Invented place of a point of the invented site: degrees. */
export function siteLonLat(x: number, y: number): [number, number] {
  return [westLon + x / metresPerDegree / Math.cos((southLat * Math.PI) / 180), southLat + y / metresPerDegree];
}

const classes = [
  'transport jar',
  'bowl',
  'jug',
  'lamp',
  'fastener',
  'ballast',
  'anchor',
  'ingot',
  'hull wood',
  'coin',
  'glass',
  'roof tile',
  'weight',
  'bone',
  'cordage',
  'sheathing',
];

const field = (name: string, type: Field['type']): Field => ({ name, title: name, type });

export interface SeededFinds {
  readonly table: FeatureTable;
  /** [2n] degrees */
  readonly lonLat: Float64Array;
  /** [2n] unit square of Web Mercator */
  readonly unit: Float64Array;
}

/** Finds on a 40 m × 25 m site, half of them spread evenly, half in twelve scatters; the same for the same seed. */
export function seededFinds(n: number, seed = 7): SeededFinds {
  const random = randomStream(seed, 0);
  const normal = () => Math.sqrt(-2 * Math.log(1 - random.next())) * Math.cos(2 * Math.PI * random.next());
  const scatters = Array.from({ length: 12 }, () => [random.next() * siteWidthM, random.next() * siteHeightM]);
  const coordinates = new Float64Array(2 * n);
  const lonLat = new Float64Array(2 * n);
  const unit = new Float64Array(2 * n);
  const label: string[] = [];
  const artefactClass: string[] = [];
  const season: string[] = [];
  const count: number[] = [];
  const elevation: number[] = [];
  const weight: number[] = [];
  for (let i = 0; i < n; i++) {
    let x = -1;
    let y = -1;
    while (x < 0 || y < 0 || x >= siteWidthM || y >= siteHeightM) {
      if (random.next() < 0.5) {
        x = random.next() * siteWidthM;
        y = random.next() * siteHeightM;
      } else {
        const [cx, cy] = scatters[random.below(12)];
        x = cx + 1.5 * normal();
        y = cy + 1.5 * normal();
      }
    }
    coordinates[2 * i] = Math.round(x * 1000) / 1000;
    coordinates[2 * i + 1] = Math.round(y * 1000) / 1000;
    const [lon, lat] = siteLonLat(coordinates[2 * i], coordinates[2 * i + 1]);
    lonLat[2 * i] = lon;
    lonLat[2 * i + 1] = lat;
    const [u, v] = lonLatToUnit(lon, lat);
    unit[2 * i] = u;
    unit[2 * i + 1] = v;
    label.push(`F${String(i).padStart(7, '0')}`);
    artefactClass.push(classes[random.below(classes.length)]);
    season.push(String(2015 + random.below(8)));
    count.push(1 + Math.floor(random.next() * random.next() * 20));
    elevation.push(-Math.round((30 + 2 * random.next()) * 100) / 100);
    weight.push(Math.round(5000 * random.next() * random.next()) / 1000);
  }
  const table: FeatureTable = {
    name: 'finds',
    length: n,
    fields: [
      field('find', 'text'),
      field('artefact_class', 'text'),
      field('season', 'text'),
      field('count', 'integer'),
      field('z_elevation', 'number'),
      field('weight_g', 'number'),
    ],
    columns: new Map<string, FeatureTable['columns'] extends ReadonlyMap<string, infer C> ? C : never>([
      ['find', textColumn(label)],
      ['artefact_class', codeColumn(artefactClass)],
      ['season', codeColumn(season)],
      ['count', numberColumn(count, 'integer')],
      ['z_elevation', numberColumn(elevation)],
      ['weight_g', numberColumn(weight)],
    ]),
    geometry: { type: 'point', coordinates },
    ids: Float64Array.from({ length: n }, (_, i) => i + 1),
  };
  return { table, lonLat, unit };
}

/** Tiles of level z that the site covers. */
export function siteTiles(z: number): TileAddress[] {
  const side = 2 ** z;
  const [west, south] = lonLatToUnit(...siteLonLat(0, 0));
  const [east, north] = lonLatToUnit(...siteLonLat(siteWidthM, siteHeightM));
  const tiles: TileAddress[] = [];
  for (let x = Math.floor(west * side); x <= Math.floor(east * side); x++) {
    for (let y = Math.floor(north * side); y <= Math.floor(south * side); y++) tiles.push({ z, x, y });
  }
  return tiles;
}

/** At most `most` of the tiles, evenly picked. */
export function pickTiles(tiles: readonly TileAddress[], most: number): TileAddress[] {
  const step = Math.max(1, Math.ceil(tiles.length / most));
  return tiles.filter((_, i) => i % step === 0);
}
