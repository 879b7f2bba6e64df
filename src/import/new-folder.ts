import { mkdir, readdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { recordFiles } from '../domain/records/records.js';
import { Problem } from '../problems.js';

/** A filled example row for each CSV file, by column; columns not named stay empty. */
const exampleRows: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  'control-points.csv': { name: 'CP1', class: 'primary', x: '0', y: '0', z: '0', sigma: '0.01', season: 'S1' },
  'measurements.csv': {
    from: 'CP1',
    to: 'CP2',
    kind: 'distance',
    value: '10.02',
    unit: 'm',
    sigma: '0.025',
    instrument: 'tape 30 m',
    reading_series: '1',
    date: '2023-06-01',
    time: '10:20',
  },
  'tide.csv': {
    reading_series: '1',
    start_time: '2023-06-01T10:00',
    start_depth: '14.20',
    end_time: '2023-06-01T11:00',
    end_depth: '14.35',
    reference_depth: '14.20',
  },
  'levels.csv': {
    node: 'B2',
    season: 'S1',
    surface: 'deposit_top',
    value: '0.42',
    kind: 'elevation',
    sigma: '0.02',
    unit: 'm',
    method: 'bubble tube',
    reading_series: '1',
    date: '2023-06-01',
    time: '10:30',
    state: 'undisturbed',
  },
  'excavated-squares.csv': {
    season: 'S1',
    progress: 'to_deposit_bottom',
    dug_fraction: '1',
    depth_reached: '0.10',
    backfilled: 'no',
    tool: 'hand-fan',
    mesh_mm: '2',
    finds_none: 'no',
    square: 'B2',
  },
  'hull-features.csv': {
    number: 'T1',
    element: 'keelson',
    state: 'articulated',
    place: 'in_place',
    outline: 'surviving',
    certainty: 'certain',
    season: 'S1',
    start_x: '0.5',
    start_y: '1.5',
    end_x: '5.5',
    end_y: '3.5',
  },
  'dives.csv': { dive: 'D1', season: 'S1', date: '2023-06-01', role: 'excavator', minutes: '52' },
  'pot-vessels.csv': { pot_vessel: 'PV1', form: 'jar', rim_percent: '15', minimum: '1', maximum: '2' },
  'finds.csv': {
    find: 'F1',
    season: 'S1',
    dive: 'D1',
    artefact_class: 'jar',
    certainty: 'certain',
    material: 'stoneware',
    count: '1',
    count_qualifier: 'exact',
    weight_g: '145.5',
    position_kind: 'point',
    local_x: '1.35',
    local_y: '1.80',
    square: 'B2',
    z_elevation: '0.31',
    sigma_xy: '0.02',
    sigma_z: '0.02',
    fixed_point: 'centre',
    pot_vessel: 'PV1',
    intrusive: 'no',
    recovery_method: 'hand',
    mesh_mm: '2',
    treatment_state: 'desalinating',
    as_written: 'B2 35 80',
  },
  'identifications.csv': {
    find: 'F1',
    artefact_class: 'jar',
    date: '2023-09-12',
    basis: 'cleaned',
    by_role: 'finds officer',
  },
  'samples.csv': {
    sample: 'SA1',
    season: 'S1',
    dive: 'D1',
    kind: 'sediment',
    square: 'B2',
    context: 'C1',
    z_elevation: '0.25',
    volume_taken_l: '2',
    volume_present_l: '60',
  },
  'documents.csv': { document: 'DR1', kind: 'drawing', find: 'F1', dive: 'D1', title: 'Jar rim', date: '2023-09-20' },
};

/** A second find, so that there is something to join the first with. */
const secondFind = {
  ...exampleRows['finds.csv'],
  find: 'F2',
  local_x: '1.60',
  local_y: '1.45',
  as_written: 'B2 60 45',
};
const join1To2 = { find_a: 'F1', find_b: 'F2', kind: 'physical join', certainty: 'certain' };

const exampleSite = {
  id: 'new-site',
  name: 'New site',
  period: '',
  authority: '',
  permit: '',
  licence: '',
  vertical_datum: { name: 'site datum on CP1', kind: 'control_point_plane' },
  grids: [
    {
      id: 'main',
      crs: 'EPSG:32631',
      origin_easting: 500000,
      origin_northing: 0,
      azimuth_deg: 0,
      columns: 20,
      rows: 10,
      labels: { columns: 'letters', rows: 'digits', skip: 'IO' },
    },
  ],
  seasons: [{ id: 'S1', title: 'Season 1', start: '2023-06-01', end: '2023-06-30' }],
  artefact_classes: [
    { id: 'ceramics', functional_group: 'cargo', material: 'ceramic', material_density: 2 },
    { id: 'jar', parent: 'ceramics', functional_group: 'cargo', material: 'stoneware', material_density: 2.1 },
  ],
};

const square = (west: number, south: number): number[][] => [
  [west, south],
  [west + 1, south],
  [west + 1, south + 1],
  [west, south + 1],
  [west, south],
];

const exampleFeatures: Readonly<Record<string, Readonly<Record<string, string | number>>>> = {
  'contexts.geojson': { number: 'C1', kind: 'layer', description: 'grey silt with shell', season: 'S1' },
  'ship-zones.geojson': { zone: 'hold', certainty: 'probable' },
};

const cell = (text: string): string => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

function csvText(file: string): string {
  const record = recordFiles.find((candidate) => candidate.file === file);
  if (!record) throw new Error(`no record file ${file}`);
  const names = [...record.tables[0].fields, ...record.readOnlyFields].map((field) => field.name);
  const rows: Readonly<Record<string, string>>[] = file === 'refits.csv' ? [join1To2] : [exampleRows[file]];
  if (file === 'finds.csv') rows.push(secondFind);
  const lines = rows.map((row: Readonly<Record<string, string>>) =>
    names.map((name) => cell(row[name] ?? '')).join(','),
  );
  return `${[names.join(','), ...lines].join('\n')}\n`;
}

/** The files of a new site folder by name: headings, and a filled example row each. */
export function newFolderFiles(): ReadonlyMap<string, string> {
  const files = new Map([['site.json', `${JSON.stringify(exampleSite, null, 2)}\n`]]);
  for (const { file, format } of recordFiles) {
    if (format === 'csv') files.set(file, csvText(file));
    const properties = exampleFeatures[file];
    if (!properties) continue;
    const geometry = { type: 'Polygon', coordinates: [square(1, 1)] };
    const collection = {
      type: 'FeatureCollection',
      coordinate_space: 'site-grid',
      features: [{ type: 'Feature', properties, geometry }],
    };
    files.set(file, `${JSON.stringify(collection, null, 2)}\n`);
  }
  return files;
}

/**
 * Makes a site folder to fill in: site.json and every record file with its heading and an example row, which can be
 * imported as it stands.
 * @throws Problem bad-folder when the folder has something in it already
 */
export async function newFolder(folder: string): Promise<readonly string[]> {
  await mkdir(folder, { recursive: true });
  if ((await readdir(folder)).length > 0)
    throw new Problem('bad-folder', `"${folder}" is not empty; name a folder that does not exist yet`);
  const files = newFolderFiles();
  for (const [name, text] of files) await writeFile(join(folder, name), text, { flag: 'wx' });
  return [...files.keys()];
}
