import { parseLabel, squareLabel } from '../../domain/grid.js';
import type { Sample } from '../../domain/sample.js';
import type { GridRecord } from '../../domain/site.js';
import { Problem } from '../../problems.js';

export type Place = readonly [number, number];

/** A section line and how it was given, in words. */
export interface SectionLine {
  readonly places: readonly Place[];
  readonly name: string;
}

/**
 * The line a section runs along: places as given; "axis", the ship's axis from its after end; "row:7" or "column:E",
 * the line of nodes of that label, as far as levels reach; or places as text, "2,3 10,8".
 *
 * @throws Problem bad-parameter when the text names no line; cannot-answer without an axis or a grid
 */
export function sectionLine(asked: string | readonly Place[], sample: Sample): SectionLine {
  if (typeof asked !== 'string') return { places: asked, name: placesText(asked) };
  const text = asked.trim();
  if (text === 'axis') {
    if (sample.shipAxis === null) {
      throw new Problem(
        'cannot-answer',
        'line axis: no ship axis is recorded here; give places, such as [[2, 3], [10, 8]], or a row or column of the grid',
      );
    }
    return { places: [sample.shipAxis.after, sample.shipAxis.bow], name: 'the ship axis, from the after end' };
  }
  const named = /^(row|column)\s*:\s*(\S+)$/i.exec(text);
  if (named) return gridLine(named[1].toLowerCase() as 'row' | 'column', named[2], sample);
  const places = text.split(/\s*[;\s]\s*/).map((pair) => pair.split(',').map(Number));
  if (places.length >= 2 && places.every((p) => p.length === 2 && p.every(Number.isFinite))) {
    const own = places.map(([x, y]): Place => [x, y]);
    return { places: own, name: placesText(own) };
  }
  throw new Problem(
    'bad-parameter',
    `line "${asked}" is no line: give places [[2, 3], [10, 8]] or "2,3 10,8", "axis", "row:7" or "column:E"`,
    { parameter: 'line' },
  );
}

const placesText = (places: readonly Place[]) => places.map(([x, y]) => `${x}, ${y}`).join(' – ');

function gridLine(kind: 'row' | 'column', label: string, { grid, levels }: Sample): SectionLine {
  if (grid === null) {
    throw new Problem('cannot-answer', `line ${kind}:${label}: there is no site grid here; give places instead`);
  }
  const number = lineNumber(kind, label, grid);
  if (number === null) {
    throw new Problem('bad-parameter', `"${label}" is no ${kind} of grid ${grid.id}`, { parameter: 'line', label });
  }
  const at = number * grid.node_spacing;
  const end = (kind === 'row' ? grid.columns : grid.rows) * grid.node_spacing;
  // no further than levels reach: a section of empty paper helps nobody
  const reach = levels ? (kind === 'row' ? levels.x : levels.y).filter((v) => !Number.isNaN(v)) : [];
  const from = Math.max(0, Math.floor(reach.length > 0 ? Math.min(...reach) : 0));
  const to = Math.min(end, Math.ceil(reach.length > 0 ? Math.max(...reach) : end));
  return {
    name: `the nodes of ${kind} ${label.toUpperCase()}`,
    places:
      kind === 'row'
        ? [
            [from, at],
            [to, at],
          ]
        : [
            [at, from],
            [at, to],
          ],
  };
}

/** Number of a line of nodes by its label alone: read as part of a node's label. */
function lineNumber(kind: 'row' | 'column', label: string, grid: GridRecord): number | null {
  const first = squareLabel(grid, 0, 0);
  const { separator } = grid.labels;
  // the first column in letters is one letter long
  const column = grid.labels.columns === 'digits' ? String(grid.labels.first) : first[0];
  const row = first.slice(column.length + separator.length);
  const found = parseLabel(grid, kind === 'row' ? `${column}${separator}${label}` : `${label}${separator}${row}`);
  return found ? found[kind] : null;
}
