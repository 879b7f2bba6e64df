import type { Soundings } from '../math/soundings-raster.js';
import { soundingsBox } from '../math/soundings-raster.js';
import { Problem } from '../problems.js';
import type { CsvDialect } from './csv.js';
import { readNumber, whyNotNumber } from './number-text.js';

/** How a file of soundings is written, and which way its z counts. */
export interface SoundingsForm {
  /** null = x, y and z parted by blanks, tabs, commas or semicolons, decimal points */
  readonly dialect: Pick<CsvDialect, 'delimiter' | 'decimal'> | null;
  readonly sign: 'elevation_up_positive' | 'depth_down_positive';
}

const lineFeed = 10;
const carriageReturn = 13;
const numberSign = 35;
const blanks: ReadonlySet<number> = new Set([9, 32]);
const decoder = new TextDecoder();

/** headings that programs write over soundings, by what stands below them */
const headings: Readonly<Record<string, 'x' | 'y' | 'elevation' | 'depth' | 'z'>> = {
  x: 'x',
  e: 'x',
  east: 'x',
  easting: 'x',
  y: 'y',
  n: 'y',
  north: 'y',
  northing: 'y',
  z: 'z',
  elevation: 'elevation',
  height: 'elevation',
  depth: 'depth',
};

/**
 * Soundings from text, one in each line: x, y, z in a projected CRS, metres. A first line may name the columns; lines
 * that begin with # are remarks. Elevations come out up-positive whatever the sign of the file.
 *
 * @throws Problem bad-file naming the row when a line is no sounding, when there are fewer than three, or when they
 *   spread over more than 20 km
 */
export function readSoundings(bytes: Uint8Array, form: SoundingsForm): Soundings {
  const decimal = form.dialect?.decimal ?? '.';
  const split = separators(form.dialect);
  const x: number[] = [];
  const y: number[] = [];
  const z: number[] = [];
  const up = form.sign === 'elevation_up_positive' ? 1 : -1;
  let order: readonly [number, number, number] = [0, 1, 2];
  let isFirst = true;
  for (const { start, end, line } of linesOf(bytes)) {
    const cells = split(bytes, start, end);
    const values = cells.map(([from, to]) => readNumber(bytes, from, to, decimal));
    if (isFirst) {
      isFirst = false;
      if (values.every(Number.isNaN)) {
        order = headedOrder(
          cells.map(([from, to]) => decoder.decode(bytes.subarray(from, to))),
          form,
        );
        continue;
      }
    }
    if (cells.length !== 3) {
      throw new Problem('bad-file', `row ${line} has ${cells.length} values; every row needs three: x, y and z`);
    }
    const bad = values.findIndex(Number.isNaN);
    if (bad >= 0) {
      const text = decoder.decode(bytes.subarray(...cells[bad]));
      throw new Problem('bad-file', `row ${line}: "${text.slice(0, 60)}" ${whyNotNumber(text, decimal)}`);
    }
    x.push(values[order[0]]);
    y.push(values[order[1]]);
    // no −0
    z.push(up * values[order[2]] + 0);
  }
  if (x.length < 3) throw new Problem('bad-file', `holds ${x.length} soundings; a seabed needs at least three`);
  const soundings = { x: Float64Array.from(x), y: Float64Array.from(y), z: Float64Array.from(z) };
  const [west, south, east, north] = soundingsBox(soundings);
  if (Math.max(east - west, north - south) > 20_000) {
    throw new Problem(
      'bad-file',
      `has soundings more than 20 km apart (x ${west} to ${east}, y ${south} to ${north}): look for a coordinate in another system, or cut the file to the surroundings of the site`,
    );
  }
  return soundings;
}

function* linesOf(bytes: Uint8Array): Generator<{ start: number; end: number; line: number }> {
  // a byte order mark is no part of the first value
  let start = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
  for (let line = 1; start < bytes.length; line++) {
    const found = bytes.indexOf(lineFeed, start);
    const next = found < 0 ? bytes.length : found;
    let from = start;
    let to = next > start && bytes[next - 1] === carriageReturn ? next - 1 : next;
    while (from < to && blanks.has(bytes[from])) from++;
    while (to > from && blanks.has(bytes[to - 1])) to--;
    if (to > from && bytes[from] !== numberSign) yield { start: from, end: to, line };
    start = next + 1;
  }
}

type Split = (bytes: Uint8Array, start: number, end: number) => [number, number][];

function separators(dialect: SoundingsForm['dialect']): Split {
  const delimiter = dialect?.delimiter.charCodeAt(0) ?? null;
  const between: ReadonlySet<number> = delimiter === null ? new Set([9, 32, 44, 59]) : new Set([delimiter]);
  return (bytes, start, end) => {
    const cells: [number, number][] = [];
    let from = start;
    for (let i = start; i <= end; i++) {
      if (i < end && !between.has(bytes[i])) continue;
      let [first, last] = [from, i];
      while (first < last && blanks.has(bytes[first])) first++;
      while (last > first && blanks.has(bytes[last - 1])) last--;
      // several blanks in a row part two values once
      if (delimiter !== null || last > first) cells.push([first, last]);
      from = i + 1;
    }
    return cells;
  };
}

function headedOrder(names: readonly string[], { sign }: SoundingsForm): readonly [number, number, number] {
  const meant = names.map(
    (name) =>
      headings[
        name
          .replace(/^"(.*)"$/, '$1')
          .trim()
          .toLowerCase()
          .replace(/_?m$/, '')
      ],
  );
  const place = (...wanted: string[]) => meant.findIndex((m) => m !== undefined && wanted.includes(m));
  const order = [place('x'), place('y'), place('z', 'elevation', 'depth')] as const;
  if (order.includes(-1) || names.length !== 3) {
    throw new Problem(
      'bad-file',
      `names the columns ${names.join(', ')}; three are needed: x (or easting), y (or northing), and z, elevation or depth`,
    );
  }
  const heading = meant[order[2]];
  if ((heading === 'depth') === (sign === 'elevation_up_positive') && heading !== 'z') {
    throw new Problem('bad-file', `names its third value ${heading}, but site.json says ${sign} (bathymetry.sign)`);
  }
  return order;
}
