import { copyFileSync, existsSync, mkdirSync, readdirSync, realpathSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Problem } from '../problems.js';

/** Files of the map library that pages load from /static/. */
const mapFiles = ['maplibre-gl.mjs', 'maplibre-gl-worker.mjs', 'maplibre-gl.css'];
/** Our own files beside the compiled modules. */
const ownFiles = ['sheet.css'];

/**
 * Fills dist/http/pages/static with what browsers load: our style sheet, our compiled modules, the map library.
 * Part of the build; the pages never fetch anything from another host.
 *
 * @param root  folder of the package: holds src, dist and node_modules
 * @returns     names of the files now in the folder
 * @throws Problem bad-file when something to copy is missing
 */
export function copyAssets(root: string): string[] {
  const target = join(root, 'dist/http/pages/static');
  const compiled = join(root, 'dist/http/pages/browser');
  if (!existsSync(compiled)) {
    throw new Problem(
      'bad-file',
      `${compiled} is missing: run "npm run build", which compiles the pages' modules first`,
    );
  }
  const library = mapLibraryFolder(root);
  const files = [
    ...ownFiles.map((name) => join(root, 'src/http/pages', name)),
    ...readdirSync(compiled)
      .filter((name) => name.endsWith('.js'))
      .sort()
      .map((name) => join(compiled, name)),
    ...mapFiles.map((name) => join(library, name)),
  ];
  const missing = files.filter((file) => !existsSync(file));
  if (missing.length > 0) {
    throw new Problem('bad-file', `cannot fill the pages' static folder, missing: ${missing.join(', ')}`);
  }
  mkdirSync(target, { recursive: true });
  return files.map((file) => {
    const name = file.slice(Math.max(file.lastIndexOf('/'), file.lastIndexOf('\\')) + 1);
    copyFileSync(file, join(target, name));
    return name;
  });
}

function mapLibraryFolder(root: string): string {
  try {
    const manifest = createRequire(join(root, 'package.json')).resolve('maplibre-gl/package.json');
    return join(dirname(manifest), 'dist');
  } catch {
    throw new Problem(
      'bad-file',
      'the package maplibre-gl is not installed: run "npm ci" (not with --omit=dev), then build again',
    );
  }
}

// run by the build as a program: node dist/entry/assets.js
if (process.argv[1] !== undefined && realpathSync(process.argv[1]) === fileURLToPath(import.meta.url)) {
  try {
    copyAssets(fileURLToPath(new URL('../..', import.meta.url)));
  } catch (reason) {
    if (!(reason instanceof Problem)) throw reason;
    process.stderr.write(`${reason.message}\n`);
    process.exitCode = 1;
  }
}
