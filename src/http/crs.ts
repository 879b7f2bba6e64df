import type { Box } from '../math/rings.js';
import type { OutputCrs, Selection, StorageCrs } from '../operations/service.js';
import { Problem } from '../problems.js';
import { badParameter, clip, numberList } from './query.js';

export const CRS84 = 'http://www.opengis.net/def/crs/OGC/1.3/CRS84';
const WEB_MERCATOR = 'http://www.opengis.net/def/crs/EPSG/0/3857';
const EPSG4326 = 'http://www.opengis.net/def/crs/EPSG/0/4326';

/** The coordinate systems of a site, the default first. */
export function offeredCrs(storage: StorageCrs | null): readonly { readonly uri: string; readonly crs: OutputCrs }[] {
  const offered: { uri: string; crs: OutputCrs }[] = [{ uri: CRS84, crs: 'crs84' }];
  if (storage !== null) offered.push({ uri: storage.uri, crs: 'storage' });
  offered.push({ uri: EPSG4326, crs: 'epsg4326' }, { uri: WEB_MERCATOR, crs: 'epsg3857' });
  return offered;
}

/** The system a parameter names; the default when it is absent. @throws Problem unknown-crs */
export function readCrs(
  query: URLSearchParams,
  name: 'crs' | 'bbox-crs' | 'filter-crs',
  storage: StorageCrs | null,
): { uri: string; crs: OutputCrs } {
  const uri = query.get(name) ?? CRS84;
  const found = offeredCrs(storage).find((offer) => offer.uri === uri);
  if (found === undefined) {
    const uris = offeredCrs(storage).map((offer) => offer.uri);
    const message = `"${clip(uri)}" is not offered; use one of ${uris.join(', ')}`;
    throw new Problem('unknown-crs', `${name}: ${message}`, { errors: [{ parameter: name, message }] });
  }
  return found;
}

/** Whether the first axis of a system points north: latitude first, or northing first. */
export function northFirst(crs: OutputCrs, storage: StorageCrs | null): boolean {
  return crs === 'epsg4326' || (crs === 'storage' && storage?.axes === 'north-east');
}

function wrapDegrees(west: number, east: number): [number, number] {
  if (east - west >= 360) return [-180, 180];
  const wrap = (degrees: number) => (degrees < -180 ? degrees + 360 : degrees > 180 ? degrees - 360 : degrees);
  return [wrap(west), wrap(east)];
}

/**
 * `bbox` in the axis order of `bbox-crs`, turned to east before north. Heights (six numbers) are read and not
 * compared: published positions are plan positions.
 * @throws Problem bad-parameter, unknown-crs
 */
export function readBbox(query: URLSearchParams, storage: StorageCrs | null): Selection['bbox'] {
  const { crs } = readCrs(query, 'bbox-crs', storage);
  const numbers = numberList(query, 'bbox');
  if (numbers === null) {
    if (query.has('bbox-crs')) throw badParameter('bbox-crs', 'is given without bbox');
    return null;
  }
  if (numbers.length !== 4 && numbers.length !== 6) {
    throw badParameter('bbox', `needs 4 or 6 numbers, got ${numbers.length}`);
  }
  const [a1, a2] = numbers;
  const [b1, b2] = numbers.length === 4 ? numbers.slice(2) : numbers.slice(3);
  if (numbers.length === 6 && numbers[2] > numbers[5])
    throw badParameter('bbox', 'its lower height lies above its upper height');
  let [west, south, east, north] = northFirst(crs, storage) ? [a2, a1, b2, b1] : [a1, a2, b1, b2];
  if (south > north)
    throw badParameter('bbox', `its south ${south} lies north of its north ${north}; see the axis order of the CRS`);
  if (crs === 'crs84' || crs === 'epsg4326') {
    if (south < -90 || north > 90) throw badParameter('bbox', `a latitude lies outside −90 to 90 (${south}, ${north})`);
    if (Math.abs(west) > 360 || Math.abs(east) > 360)
      throw badParameter('bbox', `a longitude lies outside −360 to 360 (${west}, ${east})`);
    [west, east] = wrapDegrees(west, east);
  } else if (west > east) {
    throw badParameter('bbox', `its west ${west} lies east of its east ${east}`);
  }
  const box: Box = [west, south, east, north];
  return { box, crs };
}
