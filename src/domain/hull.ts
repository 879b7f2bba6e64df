import { partsOf, wordReader } from './columns.js';
import type { FeatureTable } from './feature-table.js';
import type { HullElement } from './sample.js';

const oneOf = <T extends string>(value: string | null, allowed: readonly T[], otherwise: T): T =>
  allowed.includes(value as T) ? (value as T) : otherwise;

/** Hull features of both tables, lines first, as the analyses read them. */
export function hullElements(lines: FeatureTable | null, areas: FeatureTable | null): HullElement[] {
  const out: HullElement[] = [];
  for (const [type, table] of [
    ['line', lines],
    ['area', areas],
  ] as const) {
    if (!table?.geometry || table.geometry.type === 'point') continue;
    const number = wordReader(table, 'number');
    const element = wordReader(table, 'element');
    const state = wordReader(table, 'state');
    const place = wordReader(table, 'place');
    const outline = wordReader(table, 'outline');
    for (let i = 0; i < table.length; i++) {
      out.push({
        number: number(i) ?? '',
        element: element(i) ?? '',
        state: oneOf(state(i), ['articulated', 'loose'], 'unknown'),
        place: oneOf(place(i), ['in_place', 'displaced'], 'unknown'),
        outline: oneOf(outline(i), ['surviving', 'projected'], 'unknown'),
        type,
        parts: partsOf(table.geometry, i).map((part) => part.ring),
      });
    }
  }
  return out;
}
