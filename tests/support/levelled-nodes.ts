import type { LevelReadings } from '../../src/domain/sample.js';

/** One level reading written by hand, metres. */
export interface LevelRow {
  readonly x: number;
  readonly y: number;
  readonly surface: string;
  readonly elevation: number;
  readonly sigma?: number;
  readonly season?: string;
  readonly state?: string;
  readonly node?: string;
  readonly datum?: string;
}

/** Level readings as an analysis gets them. */
export function readingsOf(rows: readonly LevelRow[]): LevelReadings {
  const numbers = (of: (row: LevelRow) => number) => Float64Array.from(rows, of);
  return {
    x: numbers((row) => row.x),
    y: numbers((row) => row.y),
    elevation: numbers((row) => row.elevation),
    sigma: numbers((row) => row.sigma ?? Number.NaN),
    surface: rows.map((row) => row.surface),
    season: rows.map((row) => row.season ?? ''),
    node: rows.map((row) => row.node ?? null),
    series: rows.map(() => null),
    state: rows.map((row) => row.state ?? null),
    ...(rows.some((row) => row.datum !== undefined) ? { datum: rows.map((row) => row.datum ?? null) } : {}),
  };
}

/** Readings of one surface at the nodes of a one-metre grid; a field that gives NaN leaves its node out. */
export function nodeLevels(spec: {
  readonly columns: number;
  readonly rows: number;
  readonly surface: string;
  readonly field: (x: number, y: number) => number;
  readonly season?: string;
  readonly sigma?: number;
  readonly stepM?: number;
  readonly at?: readonly [number, number];
}): LevelRow[] {
  const { columns, rows, surface, field, stepM = 1, at = [0, 0], ...more } = spec;
  const out: LevelRow[] = [];
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const elevation = field(c * stepM, r * stepM);
      if (Number.isNaN(elevation)) continue;
      out.push({
        x: at[0] + c * stepM,
        y: at[1] + r * stepM,
        surface,
        elevation,
        ...(more.season === undefined ? {} : { season: more.season }),
        ...(more.sigma === undefined ? {} : { sigma: more.sigma }),
      });
    }
  }
  return out;
}
