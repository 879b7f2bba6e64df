import type { Field } from '../domain/fields.js';
import { findTable, type RecordFile, type RecordTable, recordFiles } from '../domain/records/records.js';
import type { BathymetryRecord, Site } from '../domain/site.js';
import { checkBathymetry } from './bathymetry.js';
import { type Complaints, isFileFault } from './complaints.js';
import { importTable, plainDialect } from './csv.js';
import { type GeometryTables, importGeoJson } from './geojson.js';
import type { ImportLimits } from './limits.js';
import type { ReceivedFiles } from './received.js';
import type { Receiver } from './receiver.js';
import * as rules from './rules.js';
import { isSoundings } from './site-file.js';
import { type RuleMaker, TableWriter } from './table-writer.js';
import { readWorkbook } from './xlsx.js';

/** A sheet on its way: the CSV it stands for, and where it came from. */
export interface Sheet {
  readonly label: string;
  readonly bytes: Uint8Array;
}

/** What a folder's records are read with. */
interface ReaderRequest {
  readonly site: Site;
  readonly receiver: Receiver;
  /** keeps bad rows apart; null: a bad row refuses the import */
  readonly setAside: Receiver['setAside'] | null;
  readonly received: ReceivedFiles;
  readonly complaints: Complaints;
  readonly limits: ImportLimits;
}

/** Reads the record files of one folder into their tables, each checked against the site and against those read before. */
export class FolderReader {
  readonly #given: ReaderRequest;
  readonly #writers = new Map<string, TableWriter>();
  readonly #rows = new Map<string, number>();
  readonly #rules: ReadonlyMap<string, RuleMaker>;
  readonly #wordChecks: ReadonlyMap<string, (word: string) => string | null>;
  readonly #encoder = new TextEncoder();

  constructor(given: ReaderRequest) {
    this.#given = given;
    this.#wordChecks = wordChecks(given.site);
    const grids = new rules.SiteGrids(given.site);
    const isFind: rules.FindLookup = (find) => {
      // with a register that could not be read at all, every other file would complain about every row
      if (given.complaints.refusing > 0) return true;
      const bytes = this.#encoder.encode(find);
      return this.#writers.get(findTable.name)?.has(bytes, 0, bytes.length) ?? false;
    };
    this.#rules = new Map([
      ['control-points.csv', rules.controlPointRule(grids)],
      ['levels.csv', rules.levelRule(grids)],
      ['excavated-squares.csv', rules.squareRule(grids)],
      ['hull-features.csv', rules.hullEndRule(grids)],
      ['finds.csv', rules.findRule(grids)],
      ['identifications.csv', rules.identificationRule(isFind)],
      ['refits.csv', rules.refitRule(isFind)],
    ]);
  }

  /** Reads the workbooks' sheets; sheets that are none of ours go to `notRead`. */
  async openWorkbooks(names: readonly string[], notRead: string[]): Promise<ReadonlyMap<string, Sheet>> {
    const { received, complaints, limits } = this.#given;
    const wanted = new Set(recordFiles.filter(({ format }) => format === 'csv').map(({ file }) => sheetOf(file)));
    const sheets = new Map<string, Sheet>();
    for (const file of names) {
      const bytes = await received.whole(file, limits.workbookBytes);
      if (!bytes) continue;
      await this.#complaining(file, async () => {
        const book = await readWorkbook(bytes, { wanted, file, complaints, limits });
        notRead.push(...book.left.map((sheet) => `${file}, sheet ${sheet}`));
        for (const [name, text] of book.sheets) {
          const before = sheets.get(name);
          if (before) complaints.addFile(file, `has the sheet ${name}, which is here already (${before.label})`);
          else sheets.set(name, { label: `${file}, sheet ${name}`, bytes: text });
        }
      });
    }
    return sheets;
  }

  /** Reads one record file of the folder. */
  async readFile(record: RecordFile): Promise<void> {
    const { received, complaints, limits, site } = this.#given;
    const { file } = record;
    if (record.format === 'csv') {
      const taken = await importTable(
        {
          file,
          bytes: received.pieces(file, limits.csvBytes),
          dialect: site.csv,
          columns: this.#columns(file),
          complaints,
          rule: this.#rules.get(file) ?? null,
          limits,
        },
        this.#writer(record.tables[0]),
      );
      this.#count(file, taken);
      return;
    }
    const bytes = await received.whole(file, limits.geojsonBytes);
    if (!bytes) return;
    const tables: GeometryTables = new Map(
      record.tables.map((table) => [
        table.geometry === 'line' ? 'line' : 'area',
        { writer: this.#writer(table), fields: table.fields },
      ]),
    );
    this.#count(file, importGeoJson({ file, bytes, site, columns: this.#columns(file), complaints, limits }, tables));
  }

  /** Reads one sheet of a workbook as the record file it stands for. */
  async readSheet(record: RecordFile, sheet: Sheet): Promise<void> {
    const { complaints, limits } = this.#given;
    const taken = await importTable(
      {
        file: sheet.label,
        bytes: [sheet.bytes],
        dialect: plainDialect,
        columns: this.#columns(record.file),
        complaints,
        rule: this.#rules.get(record.file) ?? null,
        limits,
        numbering: 'records',
      },
      this.#writer(record.tables[0]),
    );
    this.#count(sheet.label, taken);
  }

  /** Looks into the bathymetry, which is kept as a file. */
  async readBathymetry(stated: BathymetryRecord): Promise<void> {
    const { received, limits, site } = this.#given;
    const { file } = stated;
    const bytes = await received.whole(file, isSoundings(file) ? limits.soundingsBytes : limits.rasterBytes);
    if (bytes) await this.#complaining(file, () => checkBathymetry(bytes, { stated, csv: site.csv }));
  }

  /** Ends every table. → rows taken, by file */
  end(): { file: string; rows: number }[] {
    for (const writer of this.#writers.values()) writer.end();
    return [...this.#rows].map(([file, rows]) => ({ file, rows }));
  }

  #count(file: string, rows: number): void {
    this.#rows.set(file, (this.#rows.get(file) ?? 0) + rows);
  }

  #columns(file: string): ReadonlyMap<string, string> {
    return new Map(Object.entries(this.#given.site.columns[file] ?? {}));
  }

  async #complaining(file: string, work: () => Promise<unknown>): Promise<void> {
    try {
      await work();
    } catch (error) {
      if (!isFileFault(error)) throw error;
      this.#given.complaints.addFile(file, error.message);
    }
  }

  #writer(table: RecordTable): TableWriter {
    const known = this.#writers.get(table.name);
    if (known) return known;
    const { receiver, complaints, setAside } = this.#given;
    const kept = receiver.table(table.name, table.fields);
    const writer = new TableWriter({
      table,
      readOnlyFields: readOnlyFieldsOf(table),
      wordChecks: this.#wordChecks,
      keys: table.key === null ? null : receiver.keys(table.name),
      complaints,
      setAside,
      deliver: (chunk) => kept.append(chunk),
    });
    this.#writers.set(table.name, writer);
    return writer;
  }
}

const sheetOf = (file: string): string => file.replace(/\.\w+$/, '');

function readOnlyFieldsOf(table: RecordTable): readonly Field[] {
  return recordFiles.filter(({ tables }) => tables.includes(table)).flatMap((file) => file.readOnlyFields);
}

/** Columns whose words must stand in site.json. */
function wordChecks(site: Site): ReadonlyMap<string, (word: string) => string | null> {
  const known = (what: string, ids: readonly string[]) => {
    const set = new Set(ids);
    const folded = new Map(ids.map((id) => [id.toLowerCase(), id]));
    const list = ids.length <= 12 ? ` (${ids.join(', ')})` : '';
    return (word: string): string | null => {
      if (set.has(word)) return null;
      const meant = folded.get(word.toLowerCase());
      return `is no ${what} of site.json${meant === undefined ? list : `; "${meant}" is`}`;
    };
  };
  return new Map([
    [
      'season',
      known(
        'season',
        site.seasons.map(({ id }) => id),
      ),
    ],
    [
      'grid',
      known(
        'grid',
        site.grids.map(({ id }) => id),
      ),
    ],
    [
      'artefact_class',
      known(
        'artefact class',
        site.artefact_classes.map(({ id }) => id),
      ),
    ],
  ]);
}
