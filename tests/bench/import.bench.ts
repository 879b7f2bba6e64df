import { spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { createWriteStream, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { randomStream } from '../../src/math/random.js';
import { median, type Row } from './row.js';

const rowsWanted = 1_000_000;

/** A site with a million finds of eight columns, imported in a process of its own: parse, check, store, commit. */
export async function run(): Promise<Row[]> {
  const folder = mkdtempSync(join(tmpdir(), 'wreckfield-bench-'));
  try {
    await makeSite(folder);
    const runs = Array.from({ length: 3 }, (_, k) => importOnce(folder, join(folder, `var${k}`)));
    const ours = median(runs.map((r) => r.ms));
    const resident = Math.min(...runs.map((r) => r.parsingMb));
    return [
      {
        job: 'import of 1,000,000 finds: parse, check, store, commit',
        peer: 'none here',
        ours_ms: ours,
        peer_ms: null,
        ratio: null,
        note: `${resident} MB resident while parsing`,
        gate: '≤ 3,000 ms and ≤ 150 MB while parsing',
        pass: ours <= 3000 && resident <= 150,
      },
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function importOnce(folder: string, dataDir: string): { ms: number; parsingMb: number } {
  const script = `
    import { openSqliteStore } from ${JSON.stringify(pathOf('storage/sqlite/store.js'))};
    import { importFolder } from ${JSON.stringify(pathOf('import/import-folder.js'))};
    const store = openSqliteStore(${JSON.stringify(join(dataDir, 'wreckfield.sqlite'))});
    let parsing = 0;
    const start = performance.now();
    const report = await importFolder(store, ${JSON.stringify(folder)}, { setAside: false, progress: () => { parsing = Math.max(parsing, process.memoryUsage.rss()); } });
    const ms = performance.now() - start;
    if (report.version === null) throw new Error(JSON.stringify(report.complaints));
    console.log(JSON.stringify({ ms, parsingMb: Math.round(parsing / 1048576) }));
    await store.close();
  `;
  const { stdout, stderr, status } = spawnSync(process.execPath, ['--input-type=module', '-e', script], {
    encoding: 'utf8',
  });
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout);
}

const pathOf = (file: string) => `file://${resolve(import.meta.dirname, '../../dist', file)}`;

async function makeSite(folder: string): Promise<void> {
  writeFileSync(
    join(folder, 'site.json'),
    JSON.stringify({
      id: 'million',
      name: 'A million finds',
      vertical_datum: { name: 'pin', kind: 'other' },
      grids: [
        {
          id: 'g',
          crs: 'EPSG:32626',
          origin_easting: 412000,
          origin_northing: 4984000,
          azimuth_deg: 20,
          columns: 40,
          rows: 25,
        },
      ],
      seasons: ['2015', '2016', '2017', '2018'].map((id) => ({ id })),
      artefact_classes: Array.from({ length: 16 }, (_, k) => ({ id: `class ${k}` })),
    }),
  );
  writeFileSync(join(folder, 'excavated-squares.csv'), 'season,progress,square\n2015,to_deposit_bottom,A1\n');
  const random = randomStream(11, 1);
  const stream = createWriteStream(join(folder, 'finds.csv'));
  stream.write('find,artefact_class,season,count,z_elevation,weight_g,local_x,local_y\n');
  let text = '';
  for (let i = 0; i < rowsWanted; i++) {
    text += `F${String(i).padStart(7, '0')},class ${random.below(16)},${2015 + random.below(4)},${1 + random.below(20)},${(-30 - 2 * random.next()).toFixed(2)},${(5000 * random.next()).toFixed(1)},${(40 * random.next()).toFixed(3)},${(25 * random.next()).toFixed(3)}\n`;
    if (text.length > 1 << 18) {
      if (!stream.write(text)) await once(stream, 'drain');
      text = '';
    }
  }
  stream.end(text);
  await once(stream, 'finish');
}
