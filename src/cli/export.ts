import { closeSync, mkdirSync, openSync, renameSync, rmSync, writeSync } from 'node:fs';
import { copyFile, rename } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { type Command, Option } from 'commander';
import { readFilterText } from '../operations/read-filter.js';
import type { CollectionView, DownloadFormat, Selection, Service, SurveyView } from '../operations/service.js';
import { Problem } from '../problems.js';
import type { CommandRooms } from './commands.js';

interface ExportOptions {
  readonly site: string;
  readonly format: Format;
  readonly out?: string;
  readonly collection?: readonly string[];
  readonly season?: readonly string[];
  readonly artefactClass?: readonly string[];
  readonly filter?: string;
  readonly version?: string;
  readonly identifiedAsOf?: string;
  readonly crs: 'crs84' | 'storage';
  readonly json?: boolean;
}

/** One file for the whole site, or one for each collection. */
const wholeFormats = ['gpkg', 'pmtiles', 'archive'] as const satisfies readonly DownloadFormat[];
const singleFormats = ['geojson', 'csv', 'geotiff'] as const;
type Single = (typeof singleFormats)[number];
type Format = DownloadFormat | Single;

const endings: Readonly<Record<Single, string>> = { geojson: '.geojson', csv: '.csv', geotiff: '.tif' };

/** One file written. */
interface Written {
  readonly path: string;
  readonly collection?: string;
  readonly records?: number;
}

const several = (text: string, before: readonly string[] | undefined): readonly string[] => [...(before ?? []), text];

/** Adds `export`: a site, or a part of it, as files. */
export function addExportCommand(parent: Command, rooms: CommandRooms): void {
  parent
    .command('export')
    .description('write a stored site, or a part of it, to files')
    .requiredOption('--site <id>', 'a stored site')
    .addOption(
      new Option('--format <format>', 'one file of everything, or one file for each collection')
        .choices([...wholeFormats, ...singleFormats])
        .makeOptionMandatory(),
    )
    .option('--out <path>', 'file to write; a folder when there is one file for each collection')
    .option('--collection <id>', 'only this collection (geojson, csv, geotiff); may be repeated', several)
    .option('--season <id>', 'only records of this season; may be repeated', several)
    .option('--artefact-class <id>', 'only this artefact class, with its children; may be repeated', several)
    .option('--filter <text>', 'only records of which this is true, in CQL2: "z_elevation < -14"')
    .option('--version <n>', 'data version; the newest when absent')
    .option('--identified-as-of <date>', 'artefact classes as identified on this date')
    .addOption(
      new Option('--crs <crs>', 'coordinates of CSV: degrees, or metres of the projected CRS of the site')
        .choices(['crs84', 'storage'])
        .default('crs84'),
    )
    .option('--json', 'one JSON object on stdout')
    .action(async (options: ExportOptions) => {
      const store = await rooms.openStore();
      try {
        const written = await exportSite(rooms.openService(store), options);
        rooms.out.write(
          options.json ? `${JSON.stringify({ site: options.site, files: written })}\n` : inWords(written),
        );
      } finally {
        await store.close();
      }
    });
}

function inWords(written: readonly Written[]): string {
  const lines = written.map(({ path, collection, records }) =>
    collection === undefined || records === undefined
      ? path
      : `${path}: ${records.toLocaleString('en')} ${records === 1 ? 'record' : 'records'} of ${collection}`,
  );
  const caution = 'Exact positions are in there: handle it as the permit says.';
  return `${[...lines, caution].join('\n')}\n`;
}

async function exportSite(service: Service, options: ExportOptions): Promise<Written[]> {
  const seasons = options.season ?? [];
  const survey = await service.survey(options.site, {
    version: options.version === undefined ? null : versionNumber(options.version),
    identifiedAsOf: options.identifiedAsOf === undefined ? null : isoDate(options.identifiedAsOf),
    ...(seasons.length > 0 ? { seasons } : {}),
  });
  const selection: Selection = {
    seasons,
    classes: options.artefactClass ?? [],
    bbox: null,
    datetime: null,
    equals: [],
    ...(options.filter === undefined ? {} : { filter: readFilterText(options.filter) }),
  };
  const { format } = options;
  if (isSingle(format)) return exportCollections({ service, survey, selection, format }, options);
  if (options.collection !== undefined) {
    throw new Problem('bad-parameter', `--collection has no meaning with --format ${format}: it holds all collections`);
  }
  const download = await service.download(survey, format, selection);
  const path = options.out ?? download.fileName;
  mkdirSync(dirname(path), { recursive: true });
  // under another name first: a file that broke off half way must not look whole
  await copyFile(download.path, `${path}.part`);
  await rename(`${path}.part`, path);
  return [{ path }];
}

const isSingle = (format: Format): format is Single => (singleFormats as readonly string[]).includes(format);

function versionNumber(text: string): number {
  if (/^[1-9]\d{0,8}$/.test(text)) return Number(text);
  throw new Problem('bad-parameter', `--version "${text}" is not a data version; give a whole number from 1 on`);
}

function isoDate(text: string): string {
  if (/^\d{4}-\d{2}-\d{2}$/.test(text) && !Number.isNaN(Date.parse(text))) return text;
  throw new Problem('bad-parameter', `--identified-as-of "${text}" is not a date such as 2024-07-05`);
}

interface Exporting {
  readonly service: Service;
  readonly survey: SurveyView;
  readonly selection: Selection;
  readonly format: Single;
}

async function exportCollections(what: Exporting, options: ExportOptions): Promise<Written[]> {
  const { survey, format } = what;
  const { crs } = options;
  const chosen = chosenCollections(survey, options.collection, format);
  const ending = endings[format];
  const name = `${survey.site.id}-v${survey.version.version}`;
  const alone = options.collection?.length === 1;
  const folder = options.out ?? `${name}-${format}`;
  const written: Written[] = [];
  for (const collection of chosen) {
    const path = alone
      ? (options.out ?? `${name}-${collection.id}${ending}`)
      : join(folder, `${collection.id}${ending}`);
    written.push({ path, collection: collection.id, ...(await exportCollection(what, collection, { path, crs })) });
  }
  return written;
}

function chosenCollections(
  survey: SurveyView,
  asked: readonly string[] | undefined,
  format: Single,
): readonly CollectionView[] {
  const fits = (collection: CollectionView) => format !== 'geotiff' || collection.surface;
  const all = [...survey.collections.values()].filter(fits);
  if (asked === undefined) return all.filter(({ id }) => !id.startsWith('result-'));
  return asked.map((id) => {
    const collection = all.find((known) => known.id === id);
    if (collection) return collection;
    const what = format === 'geotiff' ? 'surface' : 'collection';
    const ids = all.map((known) => known.id).join(', ');
    throw new Problem(
      'no-such-collection',
      `site ${survey.site.id} has no ${what} "${id}"; there are ${ids || 'none'}`,
    );
  });
}

async function exportCollection(
  { service, survey, selection, format }: Exporting,
  collection: CollectionView,
  to: { readonly path: string; readonly crs: 'crs84' | 'storage' },
): Promise<{ records?: number }> {
  if (format === 'geotiff') {
    const bytes = await service.coverage(survey, collection, selection);
    writePieces(to.path, [bytes]);
    return {};
  }
  const rows = await service.select(survey, collection, selection);
  if (format === 'csv') writePieces(to.path, service.csv(collection, rows, to.crs));
  else writePieces(to.path, featurePieces(collection, rows));
  return { records: rows.length };
}

/** Rows written at once: what is in memory at a time. */
const rowsPerPiece = 5000;

function* featurePieces(collection: CollectionView, rows: Uint32Array): Generator<Uint8Array> {
  const encoder = new TextEncoder();
  yield encoder.encode('{"type":"FeatureCollection","features":[\n');
  for (let start = 0; start < rows.length; start += rowsPerPiece) {
    const text = collection.featureText(rows.subarray(start, start + rowsPerPiece), 'crs84');
    yield encoder.encode(start === 0 ? text : `,${text}`);
  }
  yield encoder.encode('\n]}\n');
}

function writePieces(path: string, pieces: Iterable<Uint8Array>): void {
  mkdirSync(dirname(path), { recursive: true });
  const part = `${path}.part`;
  const file = openSync(part, 'w');
  try {
    for (const piece of pieces) writeSync(file, piece);
  } catch (error) {
    rmSync(part, { force: true });
    throw error;
  } finally {
    closeSync(file);
  }
  renameSync(part, path);
}
