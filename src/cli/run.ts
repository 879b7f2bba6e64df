import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Command } from 'commander';
import type { Analysis } from '../analyses/contract.js';
import { executeAnalysis, type RunAnswer } from '../analyses/execute.js';
import { checkInputs } from '../analyses/inputs.js';
import type { GridFrame } from '../domain/grid.js';
import { layerGeoJson, surfaceGeoTiff } from '../operations/answer-outputs.js';
import { answerFromParts, answerParts, type KeptAnswer } from '../operations/answer-parts.js';
import { meshGeoJson } from '../operations/mesh-text.js';
import { performAnalysis } from '../operations/perform-analysis.js';
import { plainLevels, plainPlaces, plainPoints, plainReadings } from '../operations/plain-points.js';
import { plainHull, plainSample, plainWindow } from '../operations/plain-sample.js';
import { tableCsv } from '../operations/table-csv.js';
import { Problem } from '../problems.js';
import { answerText } from './answer-text.js';
import type { CommandRooms } from './commands.js';
import { addInputFlags, inputsFromFlags, readBytes, readTextFile } from './flags.js';
import { progressLine } from './progress.js';

type Options = Readonly<Record<string, unknown>>;

/** Adds `run PROCESS`: on a stored site (--site) or on plain files (--points, --window). */
export function addRunCommands(parent: Command, rooms: CommandRooms): void {
  const run = parent.command('run').description('run an analysis on a stored site, or on plain files without one');
  for (const analysis of rooms.catalogue) {
    const command = run
      .command(analysis.id)
      .description(analysis.summary)
      .option('--site <id>', 'a stored site')
      .option('--points <file>', 'CSV with x,y[,class,season,z,weight] in plane metres, instead of a site')
      .option(
        '--levels <file>',
        'CSV with x,y,surface,elevation[,sigma][,season] in plane metres, elevations up-positive',
      )
      .option('--control <file>', 'CSV with name,x,y[,z][,sigma] of control points')
      .option('--measurements <file>', 'CSV with from,to,kind,value[,sigma]')
      .option('--approximate <file>', 'CSV with name,x,y[,z]: start values of an adjustment')
      .option('--common <file>', 'CSV with name,local_x,local_y,easting,northing')
      .option('--hull <file>', 'GeoJSON lines or polygons with a property "element", with --points')
      .option('--json', 'one JSON object on stdout; progress and warnings on stderr')
      .option('--out <folder>', 'also write figure.svg, table.csv, methods.txt and the layers there');
    addInputFlags(command, analysis);
    command.action((options: Options) => runOne(analysis, options, rooms));
  }
}

async function runOne(analysis: Analysis, options: Options, rooms: CommandRooms): Promise<void> {
  const line = progressLine(rooms.err);
  const told = (share: number, doing: string) => line.tell(share, doing);
  const { answer, frame } = plainFlags.some((name) => options[name] !== undefined)
    ? await onPlainFiles(analysis, options, told)
    : await onSite(analysis, options, rooms, told);
  line.end();
  const kept = answerFromParts(answerParts(answer));
  if (typeof options['out'] === 'string') writeAnswer(options['out'], kept, frame);
  if (options['json'] === true) {
    for (const caution of kept.cautions) rooms.err.write(`${caution}\n`);
    const { summary, table, methods, cautions, provenance } = kept;
    rooms.out.write(`${JSON.stringify({ summary, table, methods, cautions, provenance })}\n`);
    return;
  }
  rooms.out.write(answerText(`${analysis.title}. ${analysis.summary}`, kept));
  if (typeof options['out'] === 'string')
    rooms.out.write(`\nFigure, table, methods and layers are in ${options['out']}\n`);
}

interface Ran {
  readonly answer: RunAnswer;
  readonly frame: GridFrame | null;
}

async function onSite(
  analysis: Analysis,
  options: Options,
  rooms: CommandRooms,
  told: (share: number, doing: string) => void,
): Promise<Ran> {
  const { site } = options;
  if (typeof site !== 'string') {
    throw new Problem(
      'bad-parameter',
      'say what to run on: --site ID for a stored site, or --points FILE and --window FILE for plain files',
    );
  }
  const inputs = inputsFromFlags(analysis, options);
  if (typeof inputs['window'] === 'string' && inputs['window'] !== 'excavated') {
    inputs['window'] = windowInput(readTextFile(inputs['window']), inputs['window']);
  }
  if (typeof inputs['at'] === 'string') inputs['at'] = await pairs(inputs['at']);
  const store = await rooms.openStore();
  try {
    const shelf = rooms.openShelf(store);
    const { survey } = await shelf.get(site, typeof inputs['version'] === 'number' ? inputs['version'] : null);
    const task = { site, version: survey.version, process: analysis.id, inputs };
    return { answer: await performAnalysis({ shelf, catalogue: rooms.catalogue }, task, told), frame: survey.frame };
  } finally {
    await store.close();
  }
}

/** flags that name a file to run on instead of a site */
const plainFlags = ['points', 'levels', 'control', 'measurements', 'common'] as const;

async function onPlainFiles(
  analysis: Analysis,
  options: Options,
  told: (share: number, doing: string) => void,
): Promise<Ran> {
  if (options['site'] !== undefined) throw new Problem('bad-parameter', '--site and plain files exclude each other');
  if (options['points'] !== undefined && typeof options['window'] !== 'string') {
    throw new Problem(
      'bad-parameter',
      '--points needs --window FILE: a statistic is never computed in a box or hull of its own points',
    );
  }
  const { window: windowFile, hull: hullFile, ...flags } = options;
  const given = inputsFromFlags(analysis, flags);
  if (typeof given['at'] === 'string') given['at'] = await pairs(given['at']);
  const file = (name: string) => {
    const path = options[name];
    return typeof path === 'string' ? { bytes: readBytes(path), file: path } : undefined;
  };
  const approximate = file('approximate');
  if (approximate) given['start'] = await plainPlaces(approximate.bytes, approximate.file);
  const inputs = checkInputs(analysis, given);
  if (inputs.common.filter !== null) {
    throw new Problem(
      'bad-parameter',
      '--filter asks by the columns of a stored site (--site); thin plain files out before, or use --artefact-class and --season',
      { parameter: 'filter' },
    );
  }
  const [points, levels] = [file('points'), file('levels')];
  const [control, measurements, common] = [file('control'), file('measurements'), file('common')];
  const readings =
    control || measurements || common
      ? await plainReadings({
          ...(control && { control }),
          ...(measurements && { measurements }),
          ...(common && { common }),
        })
      : null;
  const sample = plainSample({
    points: points ? await plainPoints(points.bytes, points.file) : null,
    window: typeof windowFile === 'string' ? plainWindow(readTextFile(windowFile), windowFile) : null,
    hull: typeof hullFile === 'string' ? plainHull(readTextFile(hullFile), hullFile) : [],
    levels: levels ? await plainLevels(levels.bytes, levels.file) : null,
    readings,
    chosenClasses: inputs.common.artefact_class,
    chosenSeasons: inputs.common.season,
  });
  return { answer: executeAnalysis(analysis, sample, inputs, told), frame: null };
}

/** Places to evaluate at: a CSV with x,y. */
async function pairs(file: string): Promise<[number, number][]> {
  const { x, y } = await plainPoints(readBytes(file), file);
  return Array.from(x, (value, i) => [value, y[i]]);
}

/** The polygon of a window file, with the space its coordinates are in. */
function windowInput(text: string, file: string): Record<string, unknown> {
  let json: Record<string, unknown>;
  try {
    json = JSON.parse(text);
  } catch (error) {
    throw new Problem('bad-file', `${file} is not JSON: ${error instanceof Error ? error.message : String(error)}`, {
      file,
    });
  }
  const space = json['coordinate_space'];
  const list = (
    json['type'] === 'FeatureCollection' ? json['features'] : [json['type'] === 'Feature' ? json : { geometry: json }]
  ) as {
    geometry: { type: string; coordinates: unknown[] };
  }[];
  const coordinates = list.flatMap(({ geometry }) =>
    geometry.type === 'Polygon' ? [geometry.coordinates] : geometry.coordinates,
  );
  return { type: 'MultiPolygon', coordinates, ...(space === undefined ? {} : { coordinate_space: space }) };
}

function writeAnswer(folder: string, answer: KeptAnswer, frame: GridFrame | null): void {
  mkdirSync(folder, { recursive: true });
  const write = (name: string, content: string | Uint8Array) => writeFileSync(join(folder, name), content);
  write('figure.svg', answer.figure);
  write('table.csv', tableCsv(answer.table));
  write('methods.txt', `${answer.methods}\n`);
  write(
    'answer.json',
    `${JSON.stringify({ summary: answer.summary, cautions: answer.cautions, provenance: answer.provenance })}\n`,
  );
  if (answer.features) write('features.geojson', layerGeoJson(answer.features, frame));
  if (answer.coverage) write('coverage.tif', surfaceGeoTiff(answer.coverage, frame));
  if (answer.mesh) write('mesh.geojson', meshGeoJson(answer.mesh));
}
