import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { expect, test } from 'vitest';

const root = resolve(import.meta.dirname, '..');
const source = join(root, 'src');

const everything = readdirSync(source, { recursive: true, encoding: 'utf8' })
  .filter((file) => file.endsWith('.ts'))
  .map((file) => join(source, file));

/** import and re-export lines, with what they name */
function importsOf(file: string): { from: string; typeOnly: boolean }[] {
  const text = readFileSync(file, 'utf8');
  const found = [...text.matchAll(/^\s*(?:import|export)\s+(type\s)?[^'"`;]*?from\s+'([^']+)'/gm)].map((match) => ({
    from: match[2],
    typeOnly: match[1] !== undefined,
  }));
  const bare = [...text.matchAll(/^\s*import\s+'([^']+)'|\bimport\(\s*'([^']+)'\s*\)/gm)].map((match) => ({
    from: match[1] ?? match[2],
    typeOnly: false,
  }));
  return [...found, ...bare];
}

const roomOf = (file: string): string => {
  const path = relative(source, file);
  return path.includes('/') ? path.split('/')[0] : path.replace(/\.ts$/, '');
};

// which room may lean on which (DEVELOPERS.md, "The house")
const floors: Record<string, readonly string[]> = {
  problems: [],
  math: ['problems'],
  jobs: ['problems'],
  domain: ['math', 'problems'],
  filter: ['domain', 'math', 'problems'],
  figures: ['math', 'problems'],
  tiles: ['math', 'problems', 'domain'],
  analyses: ['domain', 'figures', 'math', 'problems'],
  storage: ['domain', 'math', 'problems'],
  import: ['domain', 'math', 'problems', 'storage'],
  operations: ['analyses', 'domain', 'figures', 'filter', 'import', 'jobs', 'math', 'problems', 'storage', 'tiles'],
  index: ['analyses', 'domain', 'operations', 'problems'],
  http: ['analyses', 'domain', 'figures', 'filter', 'math', 'operations', 'problems', 'storage', 'tiles'],
  cli: ['analyses', 'domain', 'figures', 'math', 'operations', 'problems', 'storage', 'tiles'],
  entry: [
    'analyses',
    'cli',
    'domain',
    'figures',
    'http',
    'import',
    'jobs',
    'math',
    'operations',
    'problems',
    'storage',
    'tiles',
  ],
};

// rooms that may see only the ports of another, or only its types
const portsOnly: Record<string, Record<string, RegExp>> = {
  import: { storage: /^storage\/store\.ts$/ },
  operations: { storage: /^storage\/(store|geopackage)\.ts$/, jobs: /^jobs\/queue\.ts$/ },
  http: { storage: /^storage\/store\.ts$/ },
  cli: { storage: /^storage\/store\.ts$/ },
};

test('every import leans downward, by the table of rooms', () => {
  const wrong: string[] = [];
  for (const file of everything) {
    const room = roomOf(file);
    for (const { from } of importsOf(file)) {
      if (!from.startsWith('.')) continue;
      const target = resolve(dirname(file), from).replace(/\.js$/, '.ts');
      const other = roomOf(target);
      const place = relative(source, target);
      if (other === room) continue;
      const port = portsOnly[room]?.[other];
      if (!floors[room]?.includes(other)) wrong.push(`${relative(root, file)} leans on ${place}`);
      else if (port && !port.test(place)) wrong.push(`${relative(root, file)} reaches past the port into ${place}`);
    }
  }
  expect(wrong).toEqual([]);
});

test('no analysis imports another, and its method file knows numbers only', () => {
  const wrong: string[] = [];
  for (const file of everything.filter((f) => roomOf(f) === 'analyses')) {
    const [, folder, name] = relative(source, file).split('/');
    for (const { from } of importsOf(file)) {
      if (!from.startsWith('.')) continue;
      const place = relative(source, resolve(dirname(file), from));
      if (
        name !== undefined &&
        place.startsWith('analyses/') &&
        place.split('/').length > 2 &&
        place.split('/')[1] !== folder
      ) {
        wrong.push(`${relative(root, file)} leans on ${place}`);
      }
    }
  }
  expect(wrong).toEqual([]);
});

// packages that only one room may name, so that they can be replaced there
const homes: Record<string, RegExp> = {
  express: /^http\//,
  helmet: /^http\//,
  compression: /^http\//,
  cors: /^http\//,
  'better-sqlite3': /^storage\/sqlite\//,
  piscina: /^jobs\//,
  'geojson-vt': /^tiles\//,
  'vt-pbf': /^tiles\//,
  kdbush: /^(math|tiles|operations)\//,
  '@turf/turf': /^(math|domain)\//,
  'simple-statistics': /^math\//,
  proj4: /^domain\//,
  commander: /^cli\//,
  zod: /^(domain|analyses|import|operations|entry|http)\//,
};

test('packages are named in their own room only', () => {
  const wrong: string[] = [];
  for (const file of everything) {
    for (const { from } of importsOf(file)) {
      const home = homes[from];
      const place = relative(source, file);
      if (home && !home.test(place)) wrong.push(`${place} names ${from}`);
    }
  }
  expect(wrong).toEqual([]);
});

test('no circle between files', () => {
  const edges = new Map(
    everything.map((file) => [
      file,
      importsOf(file)
        .filter(({ from, typeOnly }) => from.startsWith('.') && !typeOnly)
        .map(({ from }) => resolve(dirname(file), from).replace(/\.js$/, '.ts')),
    ]),
  );
  const done = new Set<string>();
  const circles: string[] = [];
  const visit = (file: string, path: string[]): void => {
    if (path.includes(file)) {
      circles.push([...path.slice(path.indexOf(file)), file].map((f) => relative(source, f)).join(' → '));
      return;
    }
    if (done.has(file)) return;
    for (const next of edges.get(file) ?? []) visit(next, [...path, file]);
    done.add(file);
  };
  for (const file of everything) visit(file, []);
  expect(circles).toEqual([]);
});

test('source files keep to one subject: none is longer than 400 lines', () => {
  const long = everything
    .map((file) => ({ file: relative(root, file), lines: readFileSync(file, 'utf8').split('\n').length }))
    .filter(({ lines }) => lines > 401);
  expect(long).toEqual([]);
});

test('generated files are fresh: npm run generate would change nothing', async () => {
  const { generatedFiles } = await import('../src/entry/generate.js');
  const stale: string[] = [];
  for (const [path, text] of await generatedFiles(root)) {
    let committed = '';
    try {
      committed = readFileSync(join(root, path), 'utf8');
    } catch {
      // missing counts as stale
    }
    if (committed !== text) stale.push(path);
  }
  expect(stale).toEqual([]);
});

test('the version printed with every answer is the version of the package', async () => {
  const { softwareVersion } = await import('../src/analyses/software.js');
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
  expect(softwareVersion).toBe(version);
});
