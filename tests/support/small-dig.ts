import type { Sample, SurveyReadings } from '../../src/domain/sample.js';
import { randomStream } from '../../src/math/random.js';
import { type LevelRow, nodeLevels, readingsOf } from './levelled-nodes.js';
import { hullOf, sampleOf, windowOf } from './sample-of.js';

/** A small invented dig: an L with a hole, some finds known by a square only, a keelson, two classes */
export function smallDig(shift = { x: 0, y: 0 }, finds = 40): Sample {
  const moved = (x: number, y: number): [number, number] => [x + shift.x, y + shift.y];
  const ring = (corners: [number, number][]) => corners.map(([x, y]) => moved(x, y));
  const window = windowOf([
    [
      ring([
        [0, 0],
        [12, 0],
        [12, 5],
        [7, 5],
        [7, 8],
        [0, 8],
      ]),
      ring([
        [3, 2],
        [3, 3],
        [5, 3],
        [5, 2],
      ]),
    ],
  ]);
  const random = randomStream(7, 1);
  const xy: [number, number][] = [];
  while (xy.length < finds) {
    // on a lattice of 2^-10 m, so that moving the site by whole metres changes no bit of a difference
    const x = Math.round(random.next() * 12 * 1024) / 1024;
    const y = Math.round(random.next() * 8 * 1024) / 1024;
    if (!(x > 7 && y > 5) && !(x > 3 && x < 5 && y > 2 && y < 3)) xy.push(moved(x, y));
  }
  return sampleOf(xy, window, {
    classes: ['jar', 'nail'],
    classCode: Uint32Array.from(xy, (_, i) => 1 + (i % 2)),
    seasons: ['S1'],
    seasonCode: new Uint32Array(xy.length).fill(1),
    hull: hullOf([{ element: 'keelson', line: [moved(1, 1), moved(11, 4)] }]),
    shipAxis: { after: moved(1, 1), bow: moved(11, 4), bowEnd: 'resolved' },
    others: { xy: Float64Array.from(xy.flat()), classCode: Uint32Array.from(xy, (_, i) => 1 + (i % 2)) },
    areas: [
      {
        label: 'square find',
        region: windowOf([
          [
            ring([
              [1, 5],
              [2, 5],
              [2, 6],
              [1, 6],
            ]),
          ],
        ]),
        areaM2: 1,
        weight: 1,
        classCode: 1,
        seasonCode: 1,
      },
    ],
    z: Float64Array.from(xy, ([x, y], i) => topAt(x - shift.x, y - shift.y) - 0.05 - 0.3 * ((i % 7) / 7)),
    levels: readingsOf(smallLevels(shift)),
    readings: smallReadings(shift),
    joins: [0, 2, 4, 6, 8, 10].map((a) => ({ a, b: a + 12, kind: 'physical join' })),
    excluded: [{ reason: 'position spoil', count: 2 }],
    selected: xy.length + 3,
  });
}

const topAt = (x: number, y: number) => Math.round((-0.02 * x + 0.01 * y + 0.05 * Math.sin(x)) * 1024) / 1024;

/** top and bottom of the deposit at the nodes of the dig, levelled in two seasons */
function smallLevels(shift: { x: number; y: number }): LevelRow[] {
  const surface = (name: string, season: string, field: (x: number, y: number) => number) =>
    nodeLevels({ columns: 13, rows: 9, surface: name, season, sigma: 0.02, field, at: [shift.x, shift.y] });
  return ['S1', 'S2'].flatMap((season, k) => [
    ...surface('deposit_top', season, (x, y) => topAt(x, y) - 0.03125 * k),
    ...surface('deposit_bottom', season, (x, y) => topAt(x, y) - 0.375 - 0.0078125 * y),
  ]);
}

/** four control points, one point to be found from three of them, and three points known on the map too */
function smallReadings(shift: { x: number; y: number }): SurveyReadings {
  const control = [
    [0, 0],
    [12, 0],
    [12, 8],
    [0, 8],
  ].map(([x, y], i) => ({
    name: `CP${i + 1}`,
    class: 'primary',
    x: x + shift.x,
    y: y + shift.y,
    z: Number.NaN,
    sigma: 0.01,
    season: 'S1',
  }));
  const tape = (from: string, value: number, i: number) => ({
    row: i + 1,
    from,
    to: 'D1',
    kind: 'distance',
    value,
    unit: 'm',
    sigma: 0.025,
    instrument: null,
    series: null,
    date: null,
    time: null,
  });
  return {
    control,
    measurements: [tape('CP1', 5, 0), tape('CP2', 8.945, 1), tape('CP3', 9.845, 2)],
    tide: [],
    common: control.slice(0, 3).map(({ name, x, y }) => ({
      name,
      localX: x,
      localY: y,
      easting: 412000 + 0.9997 * x,
      northing: 4984000 + 0.9997 * y,
    })),
  };
}

/** Every typed array and list of a sample, by value */
export const contentsOf = (sample: Sample) =>
  JSON.stringify(sample, (_, v) => (ArrayBuffer.isView(v) ? [...(v as Float64Array)] : v));
