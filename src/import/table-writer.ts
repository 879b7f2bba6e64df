import { shapes } from '../domain/columns.js';
import type { Column, FeatureTable } from '../domain/feature-table.js';
import type { Field } from '../domain/fields.js';
import type { KeyIndex } from '../domain/records/key-index.js';
import type { RecordTable } from '../domain/records/records.js';
import { type ColumnBuilder, columnBuilder, NumberBuilder, TextBuilder, WordBuilder } from './column-builders.js';
import type { Complaints } from './complaints.js';
import type { Decimal } from './number-text.js';

/** Rows of one chunk: what the store gets at a time. */
export const chunkRows = 65_536;

/** Room made at first: most tables of a site are small. */
const firstCapacity = 1024;

/** Why a row cannot be taken. */
export interface Refusal {
  readonly column: string | null;
  readonly value: string | null;
  readonly reason: string;
}

/** One part of a line or an area, in metres of the first grid. */
export interface Part {
  readonly ring: Float64Array;
  readonly hole?: true;
}

/** The cells of the row being read, for rules that look at several of them. */
export interface RowCells {
  number(field: string): (row: number) => number;
  word(field: string): (row: number) => string;
  /** a word that the rule writes itself where the file leaves it empty */
  derived(field: string): { at(row: number): string; write(word: string, row: number): void };
  text(field: string): (row: number) => string;
  /** where a row lies; asked for by the rules of tables with a geometry */
  readonly place: { point(row: number, x: number, y: number): void; parts(parts: readonly Part[]): void };
}

/** Checks the row just read against itself, and gives its place; adds to `refusals` what is wrong. */
export type RowRule = (row: number, refusals: Refusal[]) => void;

/** Makes the rule of a file's rows from the cells it looks at. */
export type RuleMaker = (cells: RowCells) => RowRule;

/** Where the records of a table go, and what its rows are checked against. */
export interface TableDestination {
  readonly table: RecordTable;
  /** columns read, but not kept */
  readonly readOnlyFields: readonly Field[];
  /** why a word of a field cannot be taken */
  readonly wordChecks: ReadonlyMap<string, (word: string) => string | null>;
  /** keys the table ever had: a record's id is its number in here + 1; null: ids are row numbers */
  readonly keys: KeyIndex | null;
  readonly complaints: Complaints;
  /** keeps bad rows apart; null: a bad row refuses the import */
  readonly setAside: ((row: { file: string; row: number; reason: string; text: string }) => void) | null;
  /** takes a chunk, and keeps none of its arrays: the next chunk is built in them */
  deliver(chunk: FeatureTable): void;
}

/** Builds a table chunk by chunk from rows of cells, whatever file they come from. */
export class TableWriter {
  readonly #to: TableDestination;
  readonly #fields: readonly Field[];
  readonly #builders = new Map<string, ColumnBuilder>();
  readonly #derived: { readonly field: string; readonly builder: WordBuilder }[] = [];
  #present: ReadonlySet<string> = new Set();
  /** the chunk under way has rows of more than one file */
  #mixed = false;
  #rule: RowRule | null = null;
  readonly #refusals: Refusal[] = [];
  #ids = new Float64Array(firstCapacity);
  #points: Float64Array | null;
  #capacity = firstCapacity;
  #shapes: (readonly Part[])[] = [];
  #shape: readonly Part[] = [];
  /** [id] row and file in which an id was met in this import, 0 = not yet */
  #metRow = new Uint32Array(1024);
  #metFile = new Uint8Array(1024);
  readonly #files: string[] = [''];
  #rows = 0;
  #total = 0;

  constructor(to: TableDestination) {
    this.#to = to;
    this.#fields = [...to.table.fields, ...to.readOnlyFields];
    for (const field of this.#fields) {
      const check = to.wordChecks.get(field.name);
      this.#builders.set(field.name, columnBuilder(field, { capacity: firstCapacity, check }));
    }
    this.#points = to.table.geometry === 'point' ? new Float64Array(2 * firstCapacity) : null;
  }

  get fields(): readonly Field[] {
    return this.#fields;
  }

  /** number of rows taken so far */
  get total(): number {
    return this.#total;
  }

  /** Says which file the next rows come from, which fields it has (the others are unknown), and what its rows must obey. */
  beginFile(given: {
    readonly file: string;
    readonly fields: ReadonlySet<string>;
    readonly rule: RuleMaker | null;
    readonly decimal: Decimal;
  }): void {
    this.#files.push(given.file);
    this.#present = given.fields;
    this.#derived.length = 0;
    this.#rule = given.rule ? given.rule(this.#cells()) : null;
    this.#mixed = this.#rows > 0;
    for (const builder of this.#builders.values()) {
      builder.reset(this.#rows);
      if (builder instanceof NumberBuilder) builder.decimal = given.decimal;
    }
  }

  /** Whether a key stands in the rows taken so far. */
  has(bytes: Uint8Array, start: number, end: number): boolean {
    const entry = this.#to.keys ? this.#to.keys.find(bytes, start, end) : -1;
    return entry >= 0 && entry < this.#metRow.length && this.#metRow[entry] !== 0;
  }

  builder(field: string): ColumnBuilder {
    const builder = this.#builders.get(field);
    if (!builder) throw new Error(`table ${this.#to.table.name} has no field ${field}`);
    return builder;
  }

  /** Index within the chunk of the row that is being read. */
  get row(): number {
    return this.#rows;
  }

  /** Notes that the row being read cannot be taken. */
  refuse(refusal: Refusal): void {
    this.#refusals.push(refusal);
  }

  /** Sets the place of the row being read, for lines and areas. */
  place(parts: readonly Part[]): void {
    this.#shape = parts;
  }

  /**
   * Ends the row being read: it is taken, set aside, or complained about.
   * @param line  its number in the file
   * @param text  gives the row as received, asked for when it is set aside
   * @returns whether it was taken
   */
  finishRow(line: number, text: () => string): boolean {
    const refusals = this.#refusals;
    // a row with unreadable cells is not asked how they fit together
    if (refusals.length === 0 && this.#rule) {
      for (const { field, builder } of this.#derived) if (!this.#present.has(field)) builder.clear(this.#rows);
      this.#rule(this.#rows, refusals);
    }
    const id = refusals.length === 0 ? this.#idOf() : 0;
    if (refusals.length > 0) {
      this.#refused(line, text);
      return false;
    }
    this.#ids[this.#rows] = id;
    if (this.#to.keys) this.#meet(id, line);
    if (this.#to.table.geometry !== null && !this.#points) this.#shapes.push(this.#shape);
    this.#shape = [];
    this.#rows += 1;
    this.#total += 1;
    if (this.#rows === chunkRows) this.#flush();
    else if (this.#rows === this.#capacity) this.#grow();
    return true;
  }

  #grow(): void {
    this.#capacity *= 4;
    for (const builder of this.#builders.values()) builder.grow(this.#capacity);
    const ids = new Float64Array(this.#capacity);
    ids.set(this.#ids);
    this.#ids = ids;
    if (!this.#points) return;
    const points = new Float64Array(2 * this.#capacity);
    points.set(this.#points);
    this.#points = points;
  }

  #refused(line: number, text: () => string): void {
    const file = this.#files[this.#files.length - 1];
    for (const refusal of this.#refusals) this.#to.complaints.addRow({ file, row: line, ...refusal });
    if (this.#to.setAside) {
      const reason = this.#refusals
        .map(({ column, value, reason: why }) =>
          [column === null ? '' : `column ${column}: `, value === null ? '' : `"${value}": `, why].join(''),
        )
        .join('; ');
      this.#to.setAside({ file, row: line, reason, text: text() });
    }
    this.#refusals.length = 0;
    this.#shape = [];
  }

  /** Id of the row being read; refuses it when its key was met before. */
  #idOf(): number {
    const { keys, table } = this.#to;
    if (!keys || table.key === null) return this.#total + 1;
    const builder = this.builder(table.key) as TextBuilder;
    const start = builder.startOf(this.#rows);
    const end = builder.ends[this.#rows];
    const entry = keys.add(builder.bytes, start, end);
    if (entry < this.#metRow.length && this.#metRow[entry] !== 0) {
      const file = this.#files[this.#metFile[entry]];
      const where = this.#metFile[entry] === this.#files.length - 1 ? '' : `${file}, `;
      this.#refusals.push({
        column: table.key,
        value: builder.at(this.#rows),
        reason: `stands already in ${where}row ${this.#metRow[entry]}; give every record a number of its own`,
      });
    }
    return entry + 1;
  }

  #meet(id: number, line: number): void {
    if (id > this.#metRow.length) {
      const size = Math.max(2 * this.#metRow.length, id);
      const rows = new Uint32Array(size);
      rows.set(this.#metRow);
      this.#metRow = rows;
      const files = new Uint8Array(size);
      files.set(this.#metFile);
      this.#metFile = files;
    }
    this.#metRow[id - 1] = line;
    this.#metFile[id - 1] = this.#files.length - 1;
  }

  /** Hands over what is left; a table without rows is handed over empty, so that it is known to be so. */
  end(): void {
    if (this.#rows > 0 || this.#total === 0) this.#flush();
  }

  #flush(): void {
    const rows = this.#rows;
    const { table } = this.#to;
    const columns = new Map<string, Column>();
    for (const field of table.fields) columns.set(field.name, this.builder(field.name).take(rows));
    for (const field of this.#to.readOnlyFields) this.builder(field.name).take(rows);
    this.#to.deliver({
      name: table.name,
      length: rows,
      fields: table.fields,
      columns,
      geometry: this.#takeGeometry(rows),
      ids: this.#ids.subarray(0, rows),
    });
    this.#rows = 0;
    if (this.#mixed) for (const builder of this.#builders.values()) builder.reset(0);
    this.#mixed = false;
  }

  #takeGeometry(rows: number): FeatureTable['geometry'] {
    const type = this.#to.table.geometry;
    if (type === null) return null;
    if (type === 'point') return { type, coordinates: (this.#points as Float64Array).subarray(0, 2 * rows) };
    const taken = this.#shapes;
    this.#shapes = [];
    return shapes(type, taken);
  }

  #words(field: string): WordBuilder {
    const builder = this.builder(field);
    if (!(builder instanceof WordBuilder)) throw new Error(`field ${field} holds no words`);
    return builder;
  }

  #cells(): RowCells {
    return {
      number: (field) => {
        const builder = this.builder(field);
        if (!(builder instanceof NumberBuilder)) throw new Error(`field ${field} holds no numbers`);
        return (row) => builder.values[row];
      },
      word: (field) => {
        const builder = this.#words(field);
        return (row) => builder.at(row);
      },
      derived: (field) => {
        const builder = this.#words(field);
        this.#derived.push({ field, builder });
        return builder;
      },
      text: (field) => {
        const builder = this.builder(field);
        if (!(builder instanceof TextBuilder)) throw new Error(`field ${field} holds no texts`);
        return (row) => builder.at(row);
      },
      place: {
        point: (row, x, y) => {
          const points = this.#points;
          if (!points) throw new Error(`table ${this.#to.table.name} has no points`);
          points[2 * row] = x;
          points[2 * row + 1] = y;
        },
        parts: (parts) => this.place(parts),
      },
    };
  }
}
