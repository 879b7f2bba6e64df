import { dugAreas, isDugIn, seasonIds } from './areas.js';
import { depositBottom, detachedStern, olderPit, thickness } from './deposit.js';
import { between, normal, rounded, subject } from './deviates.js';
import type { Point } from './grids.js';
import { outline } from './outlines.js';
import type { RegisteredFind } from './register.js';
import { frameStations, fromShip, halfBreadth, keelson, keelsonLengthM } from './ship.js';
import { fixed, type MapFeature } from './tables.js';

const millimetres = ([x, y]: Point): Point => [rounded(x, 3), rounded(y, 3)];

function polygon(corners: readonly Point[]): MapFeature['geometry'] {
  const ring = corners.map(millimetres);
  return { type: 'Polygon', coordinates: [[...ring, ring[0]]] };
}

function line(points: readonly Point[]): MapFeature['geometry'] {
  return { type: 'LineString', coordinates: points.map(millimetres) };
}

interface Timber {
  readonly element: string;
  readonly geometry: MapFeature['geometry'];
  readonly state?: 'articulated' | 'loose';
  readonly place?: 'in_place' | 'displaced';
  readonly certainty?: string;
  readonly note?: string;
  readonly projected?: true;
}

/** A strip of the ship between two stations: off the keelson from one distance to another, side −1 port, 1 starboard. */
function strip(along: readonly [number, number], off: readonly [number, number], side: number): Point[] {
  const steps = 6;
  const edge = (share: number) =>
    Array.from({ length: steps + 1 }, (_, k): Point => {
      const at = along[0] + ((along[1] - along[0]) * k) / steps;
      return fromShip(at, side * share * halfBreadth(at));
    });
  const ring = [...edge(off[0]), ...edge(off[1]).reverse()];
  // anticlockwise on both sides of the keelson
  return side > 0 ? ring.reverse() : ring;
}

function frameTimbers(): Timber[] {
  return frameStations.flatMap((along, k) => {
    const reach = halfBreadth(along);
    const floor = Math.min(1.5, reach * 0.62);
    const across = (from: number, to: number) => line([fromShip(along, from), fromShip(along, to)]);
    const note = `frame ${k + 1}`;
    return [
      { element: 'floor', geometry: across(-floor, floor), note },
      { element: 'futtock', geometry: across(-floor, -reach), note },
      { element: 'futtock', geometry: across(floor, reach), note },
    ];
  });
}

function planking(): Timber[] {
  const lengths: [number, number][] = [
    [0.3, 5.6],
    [5.7, 11.4],
    [11.5, 17.1],
  ];
  return lengths.flatMap((along) =>
    [-1, 1].flatMap((side): Timber[] => [
      { element: 'plank', geometry: polygon(strip(along, [0.08, 0.5], side)), note: 'outer planking, strakes 1 to 3' },
      { element: 'plank', geometry: polygon(strip(along, [0.52, 1], side)), note: 'outer planking, strakes 4 to 7' },
      { element: 'ceiling', geometry: polygon(strip([along[0] + 0.4, along[1] - 0.5], [0.15, 0.45], side)) },
    ]),
  );
}

function sternSection(): Timber[] {
  const { centre, azimuthDeg, lengthM, breadthM } = detachedStern;
  const turn = (azimuthDeg * Math.PI) / 180;
  const at = (along: number, across: number): Point => [
    centre[0] + along * Math.sin(turn) + across * Math.cos(turn),
    centre[1] + along * Math.cos(turn) - across * Math.sin(turn),
  ];
  const l = lengthM / 2;
  const b = breadthM / 2;
  const moved = { place: 'displaced', note: 'detached stern section' } as const;
  return [
    { element: 'stern section', geometry: polygon([at(-l, -b), at(-l, b), at(l, b), at(l, -b)]), ...moved },
    { element: 'sternpost', geometry: line([at(-l, 0), at(l * 0.7, 0)]), ...moved },
    { element: 'transom', geometry: line([at(-l * 0.3, -b), at(-l * 0.3, b)]), ...moved },
    { element: 'transom', geometry: line([at(l * 0.3, -b), at(l * 0.3, b)]), ...moved },
  ];
}

/** Loose timbers, most of them off the starboard side, down the slope; each inside dug ground. */
function looseTimbers(): Timber[] {
  const random = subject('hull');
  const timbers: Timber[] = [];
  while (timbers.length < 14) {
    const [x, y] = fromShip(between(random, 1, 16), 2.6 + 1.2 * normal(random));
    const turn = random.next() * Math.PI;
    const half = between(random, 0.4, 0.9);
    const ends: Point[] = [
      [x - half * Math.sin(turn), y - half * Math.cos(turn)],
      [x + half * Math.sin(turn), y + half * Math.cos(turn)],
    ];
    if (!wasSeen(ends)) continue;
    const element = timbers.length % 3 === 0 ? 'futtock' : 'plank';
    timbers.push({ element, geometry: line(ends), state: 'loose', place: 'displaced', certainty: 'probable' });
  }
  return timbers;
}

/** Whether a timber lies wholly in ground dug in some season; a millimetre of slack along the lines. */
function wasSeen(corners: readonly Point[]): boolean {
  return corners.every(([x, y], i) => {
    const [nx, ny] = corners[(i + 1) % corners.length];
    return Array.from({ length: 21 }, (_, k) => k / 20).every((t) =>
      seasonIds.some((season) => isDugIn(season, x + (nx - x) * t, y + (ny - y) * t)),
    );
  });
}

/** hull-features.geojson: what lies where nobody dug is drawn as projected. */
export function hullFeatures(): MapFeature[] {
  const mast = (along: number) =>
    polygon([
      fromShip(along - 0.3, 0.2),
      fromShip(along + 0.3, 0.2),
      fromShip(along + 0.3, -0.2),
      fromShip(along - 0.3, -0.2),
    ]);
  const timbers: Timber[] = [
    { element: 'keelson', geometry: line([keelson.after, keelson.bow]), note: 'stands proud of the deposit' },
    {
      element: 'keel',
      geometry: line([fromShip(-0.4, 0), fromShip(keelsonLengthM + 0.5, 0)]),
      projected: true,
      certainty: 'probable',
      note: 'below the keelson, not seen',
    },
    { element: 'mast_step', geometry: mast(5.9), note: 'main mast' },
    { element: 'mast_step', geometry: mast(13.6), note: 'fore mast' },
    ...frameTimbers(),
    ...planking(),
    {
      element: 'wale',
      geometry: line([fromShip(3.4, 3.15), fromShip(6.1, 3.4)]),
      place: 'displaced',
      state: 'loose',
      note: 'fallen outwards to starboard',
    },
    ...sternSection(),
    ...looseTimbers(),
  ];
  return timbers.map((timber, i) => {
    const { geometry } = timber;
    const corners = geometry.type === 'LineString' ? geometry.coordinates : geometry.coordinates[0];
    const surviving = !timber.projected && wasSeen(corners);
    return {
      properties: {
        number: `H${String(i + 1).padStart(3, '0')}`,
        element: timber.element,
        state: timber.state ?? 'articulated',
        place: timber.place ?? 'in_place',
        outline: surviving ? 'surviving' : 'projected',
        certainty: timber.certainty ?? (surviving ? 'certain' : 'probable'),
        note: timber.note ?? null,
      },
      geometry,
    };
  });
}

/** excavated-areas.geojson: what was dug when, and which of it held nothing. */
export function areaFeatures(register: readonly RegisteredFind[]): MapFeature[] {
  return dugAreas.map((area) => {
    const members = new Set(area.squares.map(String));
    const finds = register.filter(
      ({ find }) => find.season === area.season && members.has(`${Math.floor(find.x)},${Math.floor(find.y)}`),
    );
    const dug = area.progress !== 'planned';
    return {
      properties: {
        season: area.season,
        progress: area.progress,
        dug_fraction: area.dugFraction,
        depth_reached: dug ? Number(fixed(floorReached(area), 2)) : null,
        backfilled: area.backfilled,
        tool: dug ? area.tool : null,
        mesh_mm: area.meshMm,
        finds_none: dug ? finds.length === 0 : null,
      },
      geometry: { type: 'Polygon', coordinates: outline(area.squares) },
    };
  });
}

/** Mean elevation of the floor: the bottom of the deposit, or what the trial trench left standing across the hull. */
function floorReached(area: (typeof dugAreas)[number]): number {
  let sum = 0;
  for (const [c, r] of area.squares) {
    const left = area.season === 'S1' && area.progress === 'part_dug' ? 0.3 * thickness(c + 0.5, r + 0.5) : 0;
    sum += depositBottom(c + 0.5, r + 0.5) + left;
  }
  return sum / area.squares.length;
}

/** contexts.geojson: three layers and the older pit. */
export function contextFeatures(): MapFeature[] {
  const around = (margin: number): Point[] => [
    [4 - margin, 1 - margin],
    [27 + margin, 1 - margin],
    [27 + margin, 15 + margin],
    [4 - margin, 15 + margin],
  ];
  const pit = Array.from({ length: 14 }, (_, k): Point => {
    const turn = (2 * Math.PI * k) / 14;
    const radius = olderPit.radiusM * (k % 2 === 0 ? 1 : 0.94);
    return [olderPit.centre[0] + radius * Math.cos(turn), olderPit.centre[1] + radius * Math.sin(turn)];
  });
  const layer = (number: string, description: string, margin: number): MapFeature => ({
    properties: {
      number,
      kind: 'layer',
      description,
      season: null,
      certainty: 'certain',
      z_top: null,
      z_bottom: null,
      note: null,
    },
    geometry: polygon(around(margin)),
  });
  return [
    layer('C1', 'mobile sand over the wreck', 1),
    layer('C2', 'wreck deposit: gravelly silt with finds', 0),
    layer('C3', 'natural gravel below the wreck deposit', 1.5),
    {
      properties: {
        number: 'C4',
        kind: 'disturbance',
        description: 'older pit dug by others, deposit lowered',
        season: 'S3',
        certainty: 'certain',
        z_top: Number(fixed(depositBottom(...olderPit.centre) + thickness(...olderPit.centre), 2)),
        z_bottom: Number(fixed(depositBottom(...olderPit.centre), 2)),
        note: null,
      },
      geometry: polygon(pit),
    },
  ];
}

/** ship-zones.geojson: the ship from aft to the bow, by its own axes. */
export function zoneFeatures(): MapFeature[] {
  const zones: [string, number, number][] = [
    ['stern cabin', 0.1, 3.8],
    ['after hold', 3.8, 8.2],
    ['main hold', 8.2, 12.6],
    ['fore hold', 12.6, 15],
    ['galley and forecastle', 15, 17.4],
  ];
  return zones.map(([zone, from, to]) => ({
    properties: { zone, deck: 'lower', certainty: zone.includes('hold') ? 'probable' : 'possible', note: null },
    geometry: polygon([...strip([from, to], [0, 1], 1).slice(0, 7), ...strip([from, to], [0, 1], -1).slice(7)]),
  }));
}
