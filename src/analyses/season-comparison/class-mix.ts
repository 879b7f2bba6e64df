import { type DealtTable, dealtTable } from '../../math/dealt-table.js';
import { holm } from '../../math/holm.js';
import type { CountedSeasons } from './units.js';

/** Whether the seasons hold the classes in the same proportions. */
export interface ClassMix extends Omit<DealtTable, 'cellP'> {
  /** codes of the classes in columns; 0 = class unknown */
  readonly classes: readonly number[];
  /** things dealt out as one */
  readonly units: number;
  /** [seasons × classes]; null = cannot be told */
  readonly cellP: readonly (number | null)[];
  readonly cellPHolm: readonly (number | null)[];
}

/** Null with fewer than two seasons or two classes with finds. */
export function classMix(
  counted: CountedSeasons,
  plan: {
    readonly seasons: number;
    readonly count: number;
    readonly seed: number;
    readonly first: number;
    readonly progress: (share: number) => void;
  },
): ClassMix | null {
  const gathered = new Map<string, { season: number; items: { code: number; count: number }[] }>();
  counted.units.forEach((unit, i) => {
    const key = unit.group ?? `alone ${i}`;
    const own = gathered.get(key) ?? { season: unit.season, items: [] };
    for (const code of unit.classes) own.items.push({ code, count: unit.count });
    gathered.set(key, own);
  });
  const units = [...gathered.values()];
  const classes = [...new Set(units.flatMap(({ items }) => items.map(({ code }) => code)))].sort(
    (a, b) => (a || Infinity) - (b || Infinity),
  );
  if (classes.length < 2 || new Set(units.map((unit) => unit.season)).size < 2) return null;
  const start = new Uint32Array(units.length + 1);
  units.forEach(({ items }, u) => {
    start[u + 1] = start[u] + items.length;
  });
  const column = new Map(classes.map((code, c) => [code, c]));
  const items = units.flatMap((unit) => unit.items);
  const found = dealtTable(
    {
      group: Uint32Array.from(units, (unit) => unit.season),
      groups: plan.seasons,
      start,
      classOf: Uint32Array.from(items, ({ code }) => column.get(code) ?? 0),
      classes: classes.length,
      count: Float64Array.from(items, ({ count }) => count),
    },
    plan,
  );
  const cellP = Array.from(found.cellP, (p) => (Number.isNaN(p) ? null : p));
  return { ...found, classes, units: units.length, cellP, cellPHolm: holm(cellP) };
}
