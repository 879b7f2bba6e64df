import type { LevelReadings, Sample } from '../../domain/sample.js';
import { type SeasonFrame, seasonFrame } from './season-frame.js';

/** Readings of one surface at one node in one season. */
export interface NodeReadings {
  readonly column: number;
  readonly row: number;
  readonly name: string;
  readonly x: number;
  readonly y: number;
  readonly values: number[];
  readonly series: (string | null)[];
  /** standard deviation of the mean of the readings, metres */
  sigma: number;
}

/** All levels of one season by surface and node; nodes are keyed "column row". */
export interface SeasonLevels {
  readonly season: string;
  readonly frame: SeasonFrame;
  readonly surfaces: ReadonlyMap<string, ReadonlyMap<string, NodeReadings>>;
}

export const nodeKey = (column: number, row: number): string => `${column} ${row}`;

export const meanOf = (values: readonly number[]): number => values.reduce((sum, v) => sum + v / values.length, 0);

/** a reading further from its node than this share of a step is none of that node */
const besideSteps = 0.1;

/** states of a top that no longer is the top of the undisturbed deposit */
const disturbedStates: ReadonlySet<string> = new Set(['after_dig', 'backfilled']);

/** Whether a reading counts: kept, with a place and a value, and of a top not yet dug away. */
export function isUsable(levels: LevelReadings, i: number): boolean {
  const state = levels.state[i] ?? '';
  return (
    state !== 'set_aside' &&
    Number.isFinite(levels.x[i] + levels.y[i] + levels.elevation[i]) &&
    !(levels.surface[i] === 'deposit_top' && disturbedStates.has(state))
  );
}

/** The levels of one season, or of all when the season is not named; null where no grid can be made out. */
export function seasonLevels(sample: Sample, season: string, unstatedSigmaM: number): SeasonLevels | null {
  const { levels } = sample;
  const rows =
    levels === null
      ? []
      : Array.from(levels.x.keys()).filter(
          (i) => (season === '' || levels.season[i] === season) && isUsable(levels, i),
        );
  const frame = seasonFrame(sample, rows);
  if (frame === null) return null;
  const surfaces = new Map<string, Map<string, NodeReadings>>();
  for (const i of levels === null ? [] : rows) {
    const { x, y, elevation, sigma, surface, series } = levels as LevelReadings;
    const [u, v] = frame.toSteps(x[i], y[i]);
    const [column, row] = [Math.round(u), Math.round(v)];
    if (Math.max(Math.abs(u - column), Math.abs(v - row)) > besideSteps) continue;
    const nodes = surfaces.get(surface[i]) ?? new Map<string, NodeReadings>();
    surfaces.set(surface[i], nodes);
    const key = nodeKey(column, row);
    const name = levels?.node[i] ?? frame.nodeName(column, row);
    const node = nodes.get(key) ?? { column, row, name, x: x[i], y: y[i], values: [], series: [], sigma: 0 };
    nodes.set(key, node);
    const before = node.values.length;
    const own = sigma[i] >= 0 ? sigma[i] : unstatedSigmaM;
    node.values.push(elevation[i]);
    node.series.push(series[i]);
    node.sigma = Math.sqrt((node.sigma * before) ** 2 + own ** 2) / (before + 1);
  }
  return { season, frame, surfaces };
}
