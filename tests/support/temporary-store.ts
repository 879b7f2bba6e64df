import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import { partsOf } from '../../src/domain/columns.js';
import { type FeatureTable, type Value, valueAt } from '../../src/domain/feature-table.js';
import type { SqliteOptions } from '../../src/storage/sqlite/connection.js';
import { openSqliteStore } from '../../src/storage/sqlite/store.js';

/** A folder that is gone after the test. */
export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'wreckfield-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** An empty store in a file that is gone after the test. */
export function temporaryStore(options: SqliteOptions = {}) {
  const file = join(temporaryFolder(), 'store.sqlite');
  return { file, store: openSqliteStore(file, options) };
}

/** A table as plain rows, with id and geometry. */
export function rowsOf(table: FeatureTable | null): Record<string, unknown>[] {
  if (!table) return [];
  return Array.from({ length: table.length }, (_, row) => {
    const cells: [string, Value][] = [...table.columns].map(([name, column]) => [name, valueAt(column, row)]);
    return { id: table.ids[row], ...Object.fromEntries(cells), geometry: geometryOf(table, row) };
  });
}

function geometryOf({ geometry }: FeatureTable, row: number): unknown {
  if (!geometry) return null;
  if (geometry.type === 'point') {
    const at = [...geometry.coordinates.subarray(2 * row, 2 * row + 2)];
    return Number.isNaN(at[0]) ? null : at;
  }
  return partsOf(geometry, row).map(({ ring, hole }) => ({ ring: [...ring], hole }));
}
