import { columnOf, numbers, wordReader } from '../domain/columns.js';
import { type FeatureTable, type Value, valueAt } from '../domain/feature-table.js';
import type { Field } from '../domain/fields.js';
import { gridToGrid } from '../domain/grid.js';
import { adjustedPointFields, adjustedReadingFields } from '../domain/records/adjusted.js';
import { controlPointFields } from '../domain/records/control-points.js';
import type { GridRecord, Site } from '../domain/site.js';
import type { AcceptedAdjustment, AdjustedPoint } from './accepted-adjustment.js';
import { adjustmentFileName } from './accepted-adjustment.js';
import type { Complaints } from './complaints.js';
import type { Receiver } from './receiver.js';

/** What an accepted adjustment changed. */
export interface AcceptedPoints {
  readonly fromVersion: number;
  /** points of control-points.csv that got a new position */
  readonly moved: number;
  /** points that only the measurements name */
  readonly added: number;
}

/** A receiver that puts adjusted positions beside what was received, and says what it did. */
export interface AdjustingReceiver {
  readonly receiver: Receiver;
  /** to be called when all files are read; adds the points that control-points.csv does not list */
  finish(): AcceptedPoints;
}

const pointTable = 'control-points';

/**
 * Control points with the positions of an accepted adjustment, measurements with their residuals. What was received
 * stays beside it in columns of its own (`received_x` …) and as a file; nothing is overwritten.
 */
export function adjustingReceiver(
  to: Receiver,
  adjustment: AcceptedAdjustment,
  { site, complaints }: { readonly site: Site; readonly complaints: Complaints },
): AdjustingReceiver {
  const points = new PointAdjuster(adjustment, site, complaints);
  let control: { append(chunk: FeatureTable): void } | null = null;
  const receiver: Receiver = {
    keys: (table) => to.keys(table),
    setAside: (row) => to.setAside(row),
    table(name, fields) {
      if (name === pointTable) {
        const kept = to.table(name, [...fields, ...adjustedPointFields]);
        control = kept;
        return { append: (chunk) => kept.append(points.adjusted(chunk)) };
      }
      if (name !== 'measurements') return to.table(name, fields);
      const kept = to.table(name, [...fields, ...adjustedReadingFields]);
      let before = 0;
      return {
        append(chunk) {
          kept.append(withReadings(chunk, before, adjustment));
          before += chunk.length;
        },
      };
    },
  };
  return {
    receiver,
    finish() {
      if (control === null) {
        complaints.addFile(adjustmentFileName, 'places control points, but the folder has no control-points.csv');
      } else {
        const added = points.added((name) => {
          const bytes = new TextEncoder().encode(name);
          return to.keys(pointTable).add(bytes, 0, bytes.length) + 1;
        });
        if (added) control.append(added);
      }
      return points.summary();
    },
  };
}

/** A point observed again in a later season stands as `CP1-S3`. */
const plainName = (name: string, season: string | null) =>
  season !== null && name.endsWith(`-${season}`) ? name.slice(0, -season.length - 1) : name;

class PointAdjuster {
  readonly #adjustment: AcceptedAdjustment;
  readonly #site: Site;
  readonly #complaints: Complaints;
  /** points that were not met yet */
  readonly #waiting: Map<string, AdjustedPoint>;
  /** grid that the control held fixed was given in: that of the first of it */
  #grid: GridRecord | null = null;
  #moved = 0;
  #added = 0;

  constructor(adjustment: AcceptedAdjustment, site: Site, complaints: Complaints) {
    this.#adjustment = adjustment;
    this.#site = site;
    this.#complaints = complaints;
    this.#waiting = new Map(adjustment.points);
  }

  summary(): AcceptedPoints {
    return { fromVersion: this.#adjustment.fromVersion, moved: this.#moved, added: this.#added };
  }

  #gridOf(season: string | null): GridRecord {
    const { grids } = this.#site;
    return grids.find((grid) => grid.valid_seasons.includes(season ?? '')) ?? grids[0];
  }

  /** A chunk with the adjusted positions; the chunk itself is left as it is. */
  adjusted(chunk: FeatureTable): FeatureTable {
    const word = (field: string) => wordReader(chunk, field);
    const [name, season, kind] = [word('name'), word('season'), word('class')];
    const x = numbers(chunk, 'x');
    const y = numbers(chunk, 'y');
    // held control may follow the points found: the grid is that of the first held in the list
    for (let i = 0; i < chunk.length && this.#grid === null; i++) {
      if (kind(i) !== 'detail' && !Number.isNaN(x[i] + y[i])) this.#grid = this.#gridOf(season(i));
    }
    const from = this.#grid ?? this.#site.grids[0];
    const rows = Array.from({ length: chunk.length }, (_, i): Record<string, Value> => {
      const received: Record<string, Value> = Object.fromEntries(
        [...chunk.columns].map(([field, column]) => [field, valueAt(column, i)]),
      );
      const plain = plainName(name(i) ?? '', season(i));
      const point = this.#waiting.get(plain);
      const kept = {
        ...received,
        listed: true,
        adjusted: false,
        received_x: received['x'],
        received_y: received['y'],
        received_z: received['z'],
        received_sigma: received['sigma'],
      };
      if (!point) return kept;
      this.#waiting.delete(plain);
      if (kind(i) !== 'detail' && received['x'] !== null && received['y'] !== null) {
        this.#complaints.addFile(
          adjustmentFileName,
          `places ${plain}, which control-points.csv holds fixed (class ${kind(i) ?? 'empty'}); it was made from another list`,
        );
        return kept;
      }
      this.#moved++;
      const [px, py] = gridToGrid(from, this.#gridOf(season(i)))(point.x, point.y);
      return { ...kept, ...this.#placed(point, [px, py]), z: point.z ?? received['z'] };
    });
    return tableOfRows(chunk, rows);
  }

  /** Points that only the measurements name, as detail points; null when there are none. */
  added(idOf: (name: string) => number): FeatureTable | null {
    const left = [...this.#waiting];
    if (left.length === 0) return null;
    this.#added = left.length;
    const rows = left.map(([name, point]) => ({
      name,
      class: 'detail',
      note: 'found by the accepted adjustment',
      listed: false,
      ...this.#placed(point, [point.x, point.y]),
      z: point.z ?? null,
    }));
    const ids = Float64Array.from(left, ([name]) => idOf(name));
    return tableOfRows({ name: pointTable, fields: controlPointFields, ids }, rows);
  }

  #placed({ sx, sy, sz, weak }: AdjustedPoint, [x, y]: readonly [number, number]): Record<string, Value> {
    return {
      x,
      y,
      sigma: Math.sqrt((sx * sx + sy * sy) / 2),
      sigma_x: sx,
      sigma_y: sy,
      sigma_z: sz ?? null,
      weak,
      adjusted: true,
      adjustment: this.#adjustment.id,
      adjusted_from_version: this.#adjustment.fromVersion,
    };
  }
}

function tableOfRows(
  like: Pick<FeatureTable, 'name' | 'fields' | 'ids'>,
  rows: readonly Readonly<Record<string, Value>>[],
): FeatureTable {
  const fields = [...like.fields, ...adjustedPointFields];
  return {
    name: like.name,
    length: rows.length,
    fields,
    columns: columnsOf(fields, rows),
    geometry: {
      type: 'point',
      coordinates: Float64Array.from(rows.flatMap((row) => [row['x'], row['y']].map((v) => Number(v ?? Number.NaN)))),
    },
    ids: like.ids.slice(),
  };
}

function columnsOf(
  fields: readonly Field[],
  rows: readonly Readonly<Record<string, Value>>[],
): FeatureTable['columns'] {
  return new Map(
    fields.map((field) => [
      field.name,
      columnOf(
        field,
        rows.map((row) => row[field.name] ?? null),
      ),
    ]),
  );
}

const states = { used: 'kept', set_aside: 'set_aside', not_used: 'not_used' } as const;

/** Measurements with what the adjustment says of each. @param before  rows of earlier chunks */
function withReadings(chunk: FeatureTable, before: number, { readings }: AcceptedAdjustment): FeatureTable {
  const rows = Array.from({ length: chunk.length }, (_, i): Record<string, Value> => {
    const found = readings.get(before + i + 1);
    if (!found) return {};
    const { residual, normalised, state, cause } = found;
    return { residual, normalised, state: states[state], reason: cause };
  });
  return {
    ...chunk,
    fields: [...chunk.fields, ...adjustedReadingFields],
    columns: new Map([...chunk.columns, ...columnsOf(adjustedReadingFields, rows)]),
  };
}
