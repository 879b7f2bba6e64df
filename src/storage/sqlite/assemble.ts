import { pickRows } from '../../domain/columns.js';
import type { Column, FeatureTable, Geometry } from '../../domain/feature-table.js';
import type { Field } from '../../domain/fields.js';
import {
  columnPage,
  idPage,
  isUnknown,
  numberPage,
  plainBytePage,
  readNumbers,
  readPlainBytes,
  readTexts,
  readWholeNumbers,
  readWords,
  wholeNumberPage,
} from './pages.js';

/** The pages of a chunk by their part: `id`, `column:…`, and those of its geometry. */
export function chunkPages(chunk: FeatureTable): Map<string, Uint8Array> {
  const pages = new Map<string, Uint8Array>([['id', idPage(chunk.ids)]]);
  for (const [name, column] of chunk.columns) pages.set(`column:${name}`, columnPage(column));
  const geometry = chunk.geometry;
  if (!geometry) return pages;
  // apart, and coded like any column: a point in the first grid then shares its pages with local_x and local_y
  pages.set('x', numberPage({ values: geometry.coordinates, start: 0, step: 2 }));
  pages.set('y', numberPage({ values: geometry.coordinates, start: 1, step: 2 }));
  if (geometry.type === 'point') return pages;
  pages.set('part_start', wholeNumberPage(geometry.partStart));
  pages.set('feature_start', wholeNumberPage(geometry.featureStart));
  pages.set('hole', plainBytePage(geometry.hole));
  return pages;
}

/** One stored chunk: its rows and its pages. */
export interface StoredChunk {
  readonly rows: number;
  page(part: string): Uint8Array;
}

/** What the store knows of a table beside its chunks. */
export interface TableOutline {
  readonly name: string;
  readonly rows: number;
  readonly fields: readonly Field[];
  readonly geometry: Geometry['type'] | null;
}

/** A table from its chunks, rows in the order of their ids. */
export function assembleTable(outline: TableOutline, chunks: readonly StoredChunk[]): FeatureTable {
  const { rows, fields } = outline;
  const ids = new Float64Array(rows);
  eachChunk(chunks, (chunk, at) => readNumbers(chunk.page('id'), ids, { at, rows: chunk.rows }));
  const order = risingOrder(ids);
  const unknown = unknownColumns(rows);
  const columns = new Map<string, Column>();
  for (const field of fields) {
    const part = `column:${field.name}`;
    const column = chunks.every((chunk) => isUnknown(chunk.page(part)))
      ? unknown(field)
      : assembleColumn(field, { part, rows, chunks });
    columns.set(field.name, column);
  }
  const geometry = outline.geometry === null ? null : assembleGeometry(outline.geometry, rows, chunks);
  const table: FeatureTable = { name: outline.name, length: rows, fields, columns, geometry, ids };
  if (!order) return table;
  return pickRows(table, {
    name: outline.name,
    rows: order,
    geometry: geometry && pickGeometry(geometry, order),
  });
}

function eachChunk(chunks: readonly StoredChunk[], visit: (chunk: StoredChunk, at: number) => void): void {
  let at = 0;
  for (const chunk of chunks) {
    visit(chunk, at);
    at += chunk.rows;
  }
}

/** Rows by rising id; null when they stand so already, as after a first import. */
function risingOrder(ids: Float64Array): Uint32Array | null {
  let rising = true;
  for (let i = 1; i < ids.length && rising; i++) rising = ids[i] > ids[i - 1];
  if (rising) return null;
  return Uint32Array.from(ids, (_, i) => i).sort((a, b) => ids[a] - ids[b]);
}

const columnKind = (field: Field): Column['kind'] => {
  if (field.type === 'number' || field.type === 'integer' || field.type === 'boolean') return field.type;
  return field.distinct ? 'text' : 'code';
};

/** Columns without any value, sharing their arrays: a register leaves most of its 39 columns empty. */
function unknownColumns(rows: number): (field: Field) => Column {
  let numbers: Float64Array | undefined;
  let codes: Uint32Array | undefined;
  let truths: Uint8Array | undefined;
  return (field) => {
    const kind = columnKind(field);
    if (kind === 'boolean') return { kind, values: (truths ??= new Uint8Array(rows)) };
    if (kind === 'code') return { kind, codes: (codes ??= new Uint32Array(rows)), words: [''] };
    if (kind === 'text') return { kind, ends: (codes ??= new Uint32Array(rows)), bytes: new Uint8Array(0) };
    return { kind, values: (numbers ??= new Float64Array(rows).fill(Number.NaN)) };
  };
}

function assembleColumn(
  field: Field,
  { part, rows, chunks }: { part: string; rows: number; chunks: readonly StoredChunk[] },
): Column {
  const kind = columnKind(field);
  switch (kind) {
    case 'number':
    case 'integer': {
      const values = new Float64Array(rows);
      eachChunk(chunks, (chunk, at) => readNumbers(chunk.page(part), values, { at, rows: chunk.rows }));
      return { kind, values };
    }
    case 'boolean': {
      const values = new Uint8Array(rows);
      eachChunk(chunks, (chunk, at) => readPlainBytes(chunk.page(part), values, at));
      return { kind, values };
    }
    case 'code':
      return assembleCodes(part, rows, chunks);
    case 'text':
      return assembleTexts(part, rows, chunks);
  }
}

function assembleCodes(part: string, rows: number, chunks: readonly StoredChunk[]): Column {
  const codes = new Uint32Array(rows);
  const words: string[] = [''];
  const codeOf = new Map<string, number>([['', 0]]);
  eachChunk(chunks, (chunk, at) => {
    const page = chunk.page(part);
    if (isUnknown(page)) return;
    const local = readWords(page, chunk.rows);
    const global = local.words.map((word) => {
      let code = codeOf.get(word);
      if (code === undefined) {
        code = words.length;
        words.push(word);
        codeOf.set(word, code);
      }
      return code;
    });
    for (let i = 0; i < chunk.rows; i++) codes[at + i] = global[local.codes[i]];
  });
  return { kind: 'code', codes, words };
}

function assembleTexts(part: string, rows: number, chunks: readonly StoredChunk[]): Column {
  const ends = new Uint32Array(rows);
  const pieces: Uint8Array[] = [];
  let size = 0;
  eachChunk(chunks, (chunk, at) => {
    const page = chunk.page(part);
    if (isUnknown(page)) {
      ends.fill(size, at, at + chunk.rows);
      return;
    }
    const { bytes, lengths } = readTexts(page, chunk.rows);
    for (let i = 0; i < chunk.rows; i++) {
      size += lengths[i];
      ends[at + i] = size;
    }
    pieces.push(bytes);
  });
  const bytes = new Uint8Array(size);
  let at = 0;
  for (const piece of pieces) {
    bytes.set(piece, at);
    at += piece.length;
  }
  return { kind: 'text', bytes, ends };
}

function assembleGeometry(type: Geometry['type'], rows: number, chunks: readonly StoredChunk[]): Geometry {
  if (type === 'point') {
    const coordinates = new Float64Array(2 * rows);
    eachChunk(chunks, (chunk, at) => coordinates.set(interleaved(chunk, chunk.rows), 2 * at));
    return { type, coordinates };
  }
  const featureStart = new Uint32Array(rows + 1);
  const partStart: number[] = [0];
  const hole: number[] = [];
  const pieces: Float64Array[] = [];
  let corners = 0;
  eachChunk(chunks, (chunk, at) => {
    const parts = hole.length;
    const starts = readWholeNumbers(chunk.page('feature_start'), chunk.rows + 1);
    for (let i = 0; i < chunk.rows; i++) featureStart[at + i + 1] = parts + starts[i + 1];
    const count = starts[chunk.rows];
    const partStarts = readWholeNumbers(chunk.page('part_start'), count + 1);
    const holes = new Uint8Array(count);
    readPlainBytes(chunk.page('hole'), holes, 0);
    for (let p = 0; p < count; p++) {
      partStart.push(corners + partStarts[p + 1]);
      hole.push(holes[p]);
    }
    const piece = interleaved(chunk, partStarts[count]);
    pieces.push(piece);
    corners += piece.length / 2;
  });
  const coordinates = new Float64Array(2 * corners);
  let at = 0;
  for (const piece of pieces) {
    coordinates.set(piece, at);
    at += piece.length;
  }
  return { type, coordinates, featureStart, partStart: Uint32Array.from(partStart), hole: Uint8Array.from(hole) };
}

function interleaved(chunk: StoredChunk, corners: number): Float64Array {
  const x = new Float64Array(corners);
  const y = new Float64Array(corners);
  readNumbers(chunk.page('x'), x, { at: 0, rows: corners });
  readNumbers(chunk.page('y'), y, { at: 0, rows: corners });
  const out = new Float64Array(2 * corners);
  for (let i = 0; i < corners; i++) {
    out[2 * i] = x[i];
    out[2 * i + 1] = y[i];
  }
  return out;
}

function pickGeometry(geometry: Geometry, order: Uint32Array): Geometry {
  if (geometry.type === 'point') {
    const coordinates = new Float64Array(geometry.coordinates.length);
    order.forEach((row, i) => {
      coordinates[2 * i] = geometry.coordinates[2 * row];
      coordinates[2 * i + 1] = geometry.coordinates[2 * row + 1];
    });
    return { type: 'point', coordinates };
  }
  const { featureStart, partStart, coordinates, hole } = geometry;
  const out = new Float64Array(coordinates.length);
  const parts = new Uint32Array(partStart.length);
  const features = new Uint32Array(featureStart.length);
  const holes = new Uint8Array(hole.length);
  let part = 0;
  order.forEach((row, i) => {
    for (let p = featureStart[row]; p < featureStart[row + 1]; p++) {
      const ring = coordinates.subarray(2 * partStart[p], 2 * partStart[p + 1]);
      out.set(ring, 2 * parts[part]);
      parts[part + 1] = parts[part] + ring.length / 2;
      holes[part] = hole[p];
      part += 1;
    }
    features[i + 1] = part;
  });
  return { type: geometry.type, coordinates: out, featureStart: features, partStart: parts, hole: holes };
}
