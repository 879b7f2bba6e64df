import { dugIn, type SeasonId, seasonIds } from './areas.js';
import { axeHead, classList } from './class-list.js';
import { subject } from './deviates.js';
import { relaid } from './grids.js';
import { joins } from './jars.js';
import type { PlantedFind } from './planted.js';
import type { RecordedPosition } from './positions.js';
import { diveNumber, seasons } from './seasons.js';
import { type Cell, fixed } from './tables.js';

/** The find register: a number, a dive and a row for each find. */
export interface RegisteredFind {
  readonly number: string;
  readonly dive: string;
  readonly find: PlantedFind;
  readonly position: RecordedPosition;
  /** number of the concretion's own entry, for its children */
  readonly concretion: string | null;
}

export const findColumns =
  'find,season,dive,artefact_class,certainty,material,count,count_qualifier,weight_g,position_kind,grid,local_x,local_y,square,part,end_x,end_y,z_elevation,z_min,z_max,sigma_xy,sigma_z,fixed_point,concretion,pot_vessel,orientation_deg,plunge_deg,intrusive,size_class,recovery_method,mesh_mm,former_numbers,accession_number,storage,treatment_state,as_written,notes'.split(
    ',',
  );

/** How many of the unidentified iron objects became axe heads. */
export const axeHeadCount = 23;

/** Numbers the finds by season and dive; a concretion's children follow it. */
export function registerFinds(
  finds: readonly PlantedFind[],
  positions: ReadonlyMap<PlantedFind, RecordedPosition>,
): RegisteredFind[] {
  const random = subject('register');
  const diveOfConcretion = new Map<number, number>();
  const squareOrder = new Map<SeasonId, Map<string, number>>(
    seasonIds.map((season) => [season, new Map(dugIn(season).map((square, i) => [String(square), i]))]),
  );
  const entries = finds.map((find, order) => {
    const squares = squareOrder.get(find.season)!;
    const at = squares.get(`${Math.floor(find.x)},${Math.floor(find.y)}`)!;
    const { dives } = seasons[find.season];
    // a square took a dive or two, and the season went through them in order
    const usual = Math.min(dives - 1, Math.floor((at * dives) / squares.size) + random.below(2));
    const key = find.concretion?.key;
    const dive = key === undefined ? usual : (diveOfConcretion.get(key) ?? usual);
    if (key !== undefined) diveOfConcretion.set(key, dive);
    return { find, order, dive };
  });
  entries.sort((a, b) => a.find.season.localeCompare(b.find.season) || a.dive - b.dive || a.order - b.order);
  const ownNumber = new Map<number, string>();
  return entries.map(({ find, dive }, i) => {
    const number = `TL-${String(i + 1).padStart(4, '0')}`;
    if (find.concretion && !find.concretion.child) ownNumber.set(find.concretion.key, number);
    return {
      number,
      dive: diveNumber(find.season, dive),
      find,
      position: positions.get(find)!,
      concretion: find.concretion?.child ? ownNumber.get(find.concretion.key)! : null,
    };
  });
}

/** Rows of finds.csv. */
export function findRows(register: readonly RegisteredFind[]): Record<string, Cell>[] {
  const random = subject('register');
  return register.map(({ number, dive, find, position, concretion }) => {
    const kind = classList[find.className];
    const sure = random.next();
    const weighed = random.next() < 0.92;
    const treated = random.next();
    const { local, end } = position;
    const sieved = position.kind === 'spoil' || (kind.sizeClass === 'small' && position.kind !== 'point');
    return {
      find: number,
      season: find.season,
      dive,
      artefact_class: kind.id,
      certainty: sure < 0.86 ? 'certain' : sure < 0.97 ? 'probable' : 'possible',
      material: kind.material,
      count: find.count,
      count_qualifier: find.countQualifier,
      weight_g: weighed ? fixed(find.weightG, 1) : null,
      position_kind: position.kind,
      grid: position.grid,
      local_x: local ? fixed(local[0], 3) : null,
      local_y: local ? fixed(local[1], 3) : null,
      square: position.square,
      part: position.part ?? null,
      end_x: end ? fixed(end[0], 3) : null,
      end_y: end ? fixed(end[1], 3) : null,
      z_elevation: fixed(position.z ?? null, 3),
      z_min: fixed(position.zRange?.[0] ?? null, 3),
      z_max: fixed(position.zRange?.[1] ?? null, 3),
      sigma_xy: fixed(position.sigmaXyM ?? null, 2),
      sigma_z: position.z === undefined ? null : '0.03',
      fixed_point: fixedPoint(position),
      concretion,
      pot_vessel: find.potVessel ?? null,
      orientation_deg: orientation(find),
      plunge_deg: find.long ? 0 : null,
      intrusive: false,
      size_class: kind.sizeClass,
      recovery_method: sieved ? 'sieve' : 'by hand',
      mesh_mm: find.season === 'S1' ? 6 : 2,
      storage: kind.material === 'waterlogged wood' || kind.material === 'leather' ? 'cold wet store' : 'wet store',
      treatment_state: treated < 0.5 ? 'untreated' : treated < 0.8 ? 'desalinating' : 'treated',
      as_written: asWritten(position),
      notes: position.kind === 'spoil' ? 'from the spoil of the dive' : null,
    };
  });
}

function fixedPoint(position: RecordedPosition): string | null {
  if (position.kind === 'line') return 'both ends';
  return position.kind === 'point' ? 'centre' : null;
}

/** Clockwise from the north of the grid in force: the re-laid one was turned, so it reads larger. */
function orientation(find: PlantedFind): string | null {
  if (!find.long) return null;
  const turned = seasons[find.season].grid === 'g2' ? relaid.rotationDeg : 0;
  return fixed(find.long.orientationDeg + turned, 1);
}

function asWritten(position: RecordedPosition): string | null {
  if (!position.heaped || !position.local) return null;
  const offset = (v: number) => v - (Math.ceil(v) - 1);
  return `${position.square}: ${offset(position.local[0]).toFixed(2)} E ${offset(position.local[1]).toFixed(2)} N`;
}

/** The iron objects that X-ray showed to be axe heads, in the order of the register. */
export function axeHeads(register: readonly RegisteredFind[]): RegisteredFind[] {
  const random = subject('concretions');
  const left = register.filter((entry) => entry.find.className === 'unidentifiedIron');
  const chosen = new Set<RegisteredFind>();
  while (chosen.size < axeHeadCount) chosen.add(left[random.below(left.length)]);
  return left.filter((entry) => chosen.has(entry));
}

/** Rows of identifications.csv. */
export function identificationRows(register: readonly RegisteredFind[]): Record<string, Cell>[] {
  return axeHeads(register).map((entry, i) => ({
    find: entry.number,
    artefact_class: axeHead.id,
    date: i < 12 ? '2025-02-18' : '2025-03-04',
    basis: 'X-ray',
    by_role: 'conservator',
    supersedes: classList.unidentifiedIron.id,
  }));
}

/** Rows of refits.csv. */
export function refitRows(register: readonly RegisteredFind[], sherds: readonly PlantedFind[]): Record<string, Cell>[] {
  const numbers = new Map(register.map((entry) => [entry.find, entry.number]));
  const random = subject('refits');
  return joins(sherds).map(([a, b]) => {
    const [first, second] = [numbers.get(a)!, numbers.get(b)!].sort();
    const certainty = random.next() < 0.9 ? 'certain' : 'probable';
    return { find_a: first, find_b: second, kind: 'physical_join', certainty };
  });
}
