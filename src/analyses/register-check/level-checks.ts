import type { LatticeValue } from './neighbours.js';
import { neighbourSpikes, seriesOffset } from './neighbours.js';
import { meanOf, type NodeReadings, type SeasonLevels } from './node-book.js';
import type { Oddity, Parameters, Summary } from './schemas.js';

type SeriesRow = Summary['series_offsets'][number];

/** What the levels alone show. */
interface LevelChecks {
  readonly oddities: Oddity[];
  readonly inverted: Summary['inverted_nodes'];
  readonly series: SeriesRow[];
  /** nodes inverted, or of a series that looks unreduced: surfaces beside them are not to be trusted */
  readonly doubtful: { readonly season: string; readonly x: number; readonly y: number; readonly reach: number }[];
}

export const named = (season: string): string | null => (season === '' ? null : season);

const surfaceName = (surface: string) => surface.replaceAll('_', ' ');

/** Inverted nodes, repeated readings, series that look like an unreduced tide, and spikes, season by season. */
export function checkLevels(seasons: readonly SeasonLevels[], own: Parameters): LevelChecks {
  const out: LevelChecks = { oddities: [], inverted: [], series: [], doubtful: [] };
  for (const levels of seasons) {
    const invertedKeys = inverted(levels, out);
    repeated(levels, out);
    const suspects = tideSuspects(levels, own, out);
    for (const nodes of levels.surfaces.values()) {
      for (const [key, { x, y, series }] of nodes) {
        if (!invertedKeys.has(key) && !series.some((s) => s !== null && suspects.has(s))) continue;
        out.doubtful.push({ season: levels.season, x, y, reach: levels.frame.stepM });
      }
    }
    spikes(levels, own, { out, invertedKeys, suspects });
  }
  return out;
}

function inverted({ season, surfaces }: SeasonLevels, out: LevelChecks): ReadonlySet<string> {
  const keys = new Set<string>();
  for (const [key, top] of surfaces.get('deposit_top') ?? []) {
    const bottom = surfaces.get('deposit_bottom')?.get(key);
    if (bottom === undefined) continue;
    const thickness = meanOf(top.values) - meanOf(bottom.values);
    if (!(thickness < 0)) continue;
    const sigma = Math.sqrt(top.sigma ** 2 + bottom.sigma ** 2);
    // a deposit of no thickness comes out below zero half of the time
    const isClear = thickness < -2 * sigma;
    if (isClear) {
      keys.add(key);
      out.inverted.push({ node: top.name, season, thickness_m: thickness });
    }
    out.oddities.push({
      kind: 'inverted_node',
      where: `node ${top.name}`,
      season: named(season),
      x_m: top.x,
      y_m: top.y,
      value: thickness,
      unit: 'm',
      beyond: -thickness,
      rule: `the top lies above the bottom; error of the thickness ${sigma.toFixed(3)} m${isClear ? '' : ', within two errors of none'}`,
      severity: isClear ? 'serious' : 'note',
      before_backfill: isClear,
    });
  }
  return keys;
}

function repeated({ season, surfaces }: SeasonLevels, out: LevelChecks): void {
  for (const [surface, nodes] of surfaces) {
    for (const node of nodes.values()) {
      const count = node.values.length;
      if (count < 2) continue;
      const spread = Math.max(...node.values) - Math.min(...node.values);
      // the error of one reading, from that of their mean
      const allowed = 2 * Math.SQRT2 * node.sigma * Math.sqrt(count);
      out.oddities.push({
        kind: 'several_readings',
        where: `node ${node.name}`,
        season: named(season),
        x_m: node.x,
        y_m: node.y,
        value: spread,
        unit: 'm',
        beyond: Math.max(0, spread - allowed),
        rule: `${count} readings of ${surfaceName(surface)} differ by no more than ${allowed.toFixed(3)} m (two errors of a difference)`,
        severity: spread > 2 * allowed ? 'serious' : spread > allowed ? 'look' : 'note',
        before_backfill: spread > allowed,
      });
    }
  }
}

const valuesOf = (nodes: readonly NodeReadings[]): LatticeValue[] =>
  nodes.map((node) => ({ column: node.column, row: node.row, value: meanOf(node.values), sigma: node.sigma }));

const ofSeries = (node: NodeReadings, name: string) => node.series.every((s) => s === name);

/** Series out of step with those around them, the worst first; a series found is no neighbour for the rest. */
function tideSuspects({ season, surfaces }: SeasonLevels, own: Parameters, out: LevelChecks): ReadonlySet<string> {
  const all = [...surfaces.values()].flatMap((nodes) => [...nodes.values()]);
  const names = [...new Set(all.flatMap((node) => node.series.filter((s) => s !== null)))];
  const suspects = new Set<string>();
  const rowOf = (name: string): SeriesRow => {
    const { compared, offset, sigma } = seriesOffset(
      [...surfaces.values()].map((nodes) => {
        const list = [...nodes.values()];
        const trusted = (s: string | null) => s !== null && s !== name && !suspects.has(s);
        return {
          own: valuesOf(list.filter((node) => ofSeries(node, name))),
          others: valuesOf(list.filter((node) => node.series.every(trusted))),
        };
      }),
    );
    const isOff =
      offset !== null && sigma !== null && Math.abs(offset) >= own.series_offset_m && Math.abs(offset) > 4 * sigma;
    return {
      reading_series: name,
      season,
      readings: all.reduce((sum, node) => sum + node.series.filter((s) => s === name).length, 0),
      compared,
      offset_m: offset,
      sigma_m: sigma,
      looks_unreduced: isOff,
    };
  };
  const found = new Map<string, SeriesRow>();
  for (;;) {
    const rows = names.filter((name) => !suspects.has(name)).map(rowOf);
    for (const row of rows) found.set(row.reading_series, row);
    const strength = (row: SeriesRow) => Math.abs((row.offset_m ?? 0) / (row.sigma_m ?? 1));
    const worst = rows.filter((row) => row.looks_unreduced).sort((a, b) => strength(b) - strength(a))[0];
    if (worst === undefined) break;
    suspects.add(worst.reading_series);
    out.oddities.push(seriesOddity(worst, all, own));
  }
  out.series.push(...names.flatMap((name) => found.get(name) ?? []));
  return suspects;
}

function seriesOddity(row: SeriesRow, all: readonly NodeReadings[], own: Parameters): Oddity {
  const nodes = all.filter((node) => node.series.includes(row.reading_series));
  const offset = row.offset_m ?? 0;
  return {
    kind: 'series_offset',
    where: `reading series ${row.reading_series}`,
    season: named(row.season),
    x_m: meanOf(nodes.map((node) => node.x)),
    y_m: meanOf(nodes.map((node) => node.y)),
    value: offset,
    unit: 'm',
    beyond: Math.abs(offset) - own.series_offset_m,
    rule: `a series lies within ${own.series_offset_m} m of the series around it; this one looks like a tide not taken off (error ${(row.sigma_m ?? 0).toFixed(3)} m)`,
    severity: 'serious',
    before_backfill: true,
  };
}

function spikes(
  { season, surfaces }: SeasonLevels,
  own: Parameters,
  {
    out,
    invertedKeys,
    suspects,
  }: { out: LevelChecks; invertedKeys: ReadonlySet<string>; suspects: ReadonlySet<string> },
): void {
  for (const [surface, nodes] of surfaces) {
    // nodes told of already are neither listed twice nor believed as neighbours
    const believed = [...nodes]
      .filter(([key, node]) => !invertedKeys.has(key) && !node.series.some((s) => s !== null && suspects.has(s)))
      .map(([, node]) => node);
    for (const { index, residual, scale } of neighbourSpikes(valuesOf(believed), own.spike_sigmas)) {
      const node = believed[index];
      out.oddities.push({
        kind: 'neighbour_spike',
        where: `node ${node.name}`,
        season: named(season),
        x_m: node.x,
        y_m: node.y,
        value: residual,
        unit: 'm',
        beyond: Math.abs(residual) - own.spike_sigmas * scale,
        rule: `${surfaceName(surface)} lies within ${own.spike_sigmas} robust errors (${scale.toFixed(3)} m each) of what its neighbours say`,
        severity: Math.abs(residual) > 2 * own.spike_sigmas * scale ? 'serious' : 'look',
        before_backfill: true,
      });
    }
  }
}
