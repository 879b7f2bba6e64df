import type { SurfaceNodes } from '../../math/level-nodes.js';
import { tableOf } from '../columns.js';
import type { FeatureTable, Value } from '../feature-table.js';
import type { Field } from '../fields.js';
import { gridToGrid, squareLabel } from '../grid.js';
import { nodesOrNull } from '../modelled-surface.js';
import type { LevelReadings } from '../sample.js';
import type { GridRecord } from '../site.js';
import type { Survey } from '../survey.js';

const surfaces = [
  ['seabed_before', 'seabed before work'],
  ['deposit_top', 'deposit top'],
  ['deposit_bottom', 'deposit bottom'],
  ['excavation_limit', 'limit of excavation'],
  ['hard_substrate', 'hard substrate'],
] as const;

const states = ['complete', 'inverted', 'no_bottom', 'no_top', 'other_surfaces', 'not_levelled'] as const;

const metres = (name: string, title: string, description?: string): Field => ({
  name,
  title,
  type: 'number',
  unit: 'm',
  ...(description === undefined ? {} : { description }),
});

const fields: readonly Field[] = [
  { name: 'node', title: 'Node', type: 'text', distinct: true },
  { name: 'grid', title: 'Grid', type: 'text' },
  metres('local_x', 'x in the first site grid'),
  metres('local_y', 'y in the first site grid'),
  {
    name: 'state',
    title: 'State of the node',
    description: 'complete: top and bottom levelled; inverted: bottom above top; what else is missing or known',
    type: 'text',
    choices: [...states],
  },
  metres('thickness', 'Thickness of the deposit, top less bottom', 'Both of one season where a season has both'),
  metres('sigma_thickness', 'Random standard deviation of the thickness'),
  { name: 'season_thickness', title: 'Seasons of the thickness', type: 'text' },
  ...surfaces.flatMap(([name, words]): Field[] => [
    metres(name, `Elevation of the ${words}`, 'Readings of one season averaged; of several seasons the newest'),
    metres(`sigma_${name}`, `Random standard deviation of the ${words}`),
    { name: `season_${name}`, title: `Season of the ${words}`, type: 'text' },
    { name: `state_${name}`, title: `State of the ${words} as recorded with its readings`, type: 'text' },
  ]),
  { name: 'vertical_datum', title: 'Vertical datum of the elevations', type: 'text' },
];

/** a node and a reading closer than this are at one place, metres */
const samePlaceM = 1e-4;
const keyOf = (x: number, y: number) => `${Math.round(x / samePlaceM)} ${Math.round(y / samePlaceM)}`;

/**
 * The nodes of the first grid, and of re-laid grids those that were levelled, with every level of the seasons chosen
 * and its error. A node without a reading keeps null, never 0. The same nodes under the same ids whatever the seasons.
 */
export function publishedNodes(survey: Survey, seasons: ReadonlySet<string>): FeatureTable {
  const levels = survey.levelsOf(seasons);
  const read = new Map(
    [...surfaces.map(([name]) => name), 'thickness'].map((surface) => [
      surface,
      nodeReader(nodesOrNull(levels, { surface, seasons: survey.seasons })),
    ]),
  );
  const recorded = recordedStates(levels);
  const places = nodePlaces(survey);
  const rows = places.map(({ node, grid, x, y }) => {
    const key = keyOf(x, y);
    const thickness = read.get('thickness')?.(key) ?? null;
    const row: Record<string, Value> = {
      node,
      grid,
      local_x: rounded(x),
      local_y: rounded(y),
      thickness: thickness?.value ?? null,
      sigma_thickness: thickness?.sigma ?? null,
      season_thickness: thickness?.season ?? null,
      vertical_datum: survey.site.vertical_datum.name,
    };
    for (const [name] of surfaces) {
      const level = read.get(name)?.(key) ?? null;
      row[name] = level?.value ?? null;
      row[`sigma_${name}`] = level?.sigma ?? null;
      row[`season_${name}`] = level?.season ?? null;
      row[`state_${name}`] = level === null ? null : recorded(name, key, level.season);
    }
    row['state'] = stateOf(row);
    return row;
  });
  const coordinates = Float64Array.from(places.flatMap(({ x, y }) => [x, y]));
  return tableOf({ name: 'grid-nodes', fields, rows, geometry: { type: 'point', coordinates } });
}

interface NodePlace {
  readonly node: string;
  readonly grid: string;
  readonly x: number;
  readonly y: number;
}

function nodePlaces({ site, frame, levelsOf }: Survey): NodePlace[] {
  const first = nodesOf(frame.grid).map(([node, x, y]) => ({ node, grid: frame.grid.id, x, y }));
  const all = levelsOf(new Set());
  if (all === null || site.grids.length === 1) return first;
  const levelled = new Set(Array.from(all.x, (x, i) => keyOf(x, all.y[i])));
  for (const { x, y } of first) levelled.delete(keyOf(x, y));
  const others = site.grids.slice(1).flatMap((grid) => {
    const toFirst = gridToGrid(grid, frame.grid);
    return nodesOf(grid).flatMap(([node, gx, gy]): NodePlace[] => {
      const [x, y] = toFirst(gx, gy);
      return levelled.has(keyOf(x, y)) ? [{ node, grid: grid.id, x, y }] : [];
    });
  });
  return [...first, ...others];
}

/** Every node of a grid: label, x, y in its own metres, row by row from the south. */
function nodesOf(grid: GridRecord): [string, number, number][] {
  const out: [string, number, number][] = [];
  for (let row = 0; row <= grid.rows; row++) {
    for (let column = 0; column <= grid.columns; column++)
      out.push([squareLabel(grid, column, row), column * grid.node_spacing, row * grid.node_spacing]);
  }
  return out;
}

interface NodeLevel {
  readonly value: number;
  readonly sigma: number | null;
  readonly season: string | null;
}

const rounded = (v: number) => Math.round(v * 1e4) / 1e4 + 0;

function nodeReader(nodes: SurfaceNodes | null): (key: string) => NodeLevel | null {
  if (nodes === null) return () => null;
  const { x, y, z, sigma, seasonNames, seasonShare } = nodes;
  const index = new Map(Array.from(x, (v, i) => [keyOf(v, y[i]), i]));
  return (key) => {
    const i = index.get(key);
    if (i === undefined) return null;
    const own = seasonNames.filter((name, s) => name !== '' && seasonShare[i * seasonNames.length + s] > 0);
    return {
      value: rounded(z[i]),
      sigma: Number.isNaN(sigma[i]) ? null : rounded(sigma[i]),
      season: own.join(', ') || null,
    };
  };
}

/** The states written beside the readings of a node, by surface, place and season. */
function recordedStates(
  levels: LevelReadings | null,
): (surface: string, key: string, season: string | null) => string | null {
  const found = new Map<string, Set<string>>();
  const name = (surface: string, key: string, season: string | null) => `${surface}|${key}|${season ?? ''}`;
  levels?.state.forEach((state, i) => {
    if (state === null || state === 'set_aside') return;
    const at = name(levels.surface[i], keyOf(levels.x[i], levels.y[i]), levels.season[i]);
    found.set(at, (found.get(at) ?? new Set()).add(state));
  });
  return (surface, key, season) => [...(found.get(name(surface, key, season)) ?? [])].sort().join(', ') || null;
}

function stateOf(row: Readonly<Record<string, Value>>): (typeof states)[number] {
  const top = row['deposit_top'] !== null;
  const bottom = row['deposit_bottom'] !== null;
  if (top && bottom) return Number(row['thickness']) < 0 ? 'inverted' : 'complete';
  if (top) return 'no_bottom';
  if (bottom) return 'no_top';
  return surfaces.some(([name]) => row[name] !== null) ? 'other_surfaces' : 'not_levelled';
}
