import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Row } from './row.js';

// npm run bench [part …]: every *.bench.ts beside this file, or those named; one table at the end

const wanted = process.argv.slice(2);
const files = readdirSync(import.meta.dirname)
  .filter((file) => file.endsWith('.bench.ts'))
  .filter((file) => wanted.length === 0 || wanted.some((word) => file.startsWith(word)))
  .sort();

const rows: Row[] = [];
for (const file of files) {
  process.stderr.write(`${file} …\n`);
  const part = (await import(pathToFileURL(join(import.meta.dirname, file)).href)) as { run(): Promise<Row[]> };
  rows.push(...(await part.run()));
}

const milliseconds = (v: number | null) =>
  v === null ? 'not here' : v >= 100 ? v.toFixed(0) : v >= 1 ? v.toFixed(1) : v.toFixed(3);
const cells = rows.map((row) => [
  row.job,
  row.peer,
  milliseconds(row.ours_ms),
  milliseconds(row.peer_ms),
  row.ratio === null ? '' : `${row.ratio.toFixed(1)}×`,
  row.gate ?? '',
  row.pass === null ? '' : row.pass ? 'yes' : 'NO',
  row.note,
]);
const heading = ['job', 'peer', 'ours, ms', 'peer, ms', 'ratio', 'gate', 'holds', 'note'];
process.stdout.write(`| ${heading.join(' | ')} |\n|${heading.map(() => '---').join('|')}|\n`);
for (const row of cells) process.stdout.write(`| ${row.join(' | ')} |\n`);
process.stdout.write(`\nNode ${process.version}, ${new Date().toISOString().slice(0, 10)}\n`);
if (rows.some((row) => row.pass === false)) process.exitCode = 1;
