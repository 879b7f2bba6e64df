import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Analysis } from '../analyses/contract.js';
import { describeProcess } from '../analyses/describe.js';
import { analysisPage } from '../analyses/document.js';
import { openApiTemplate } from '../http/openapi.js';
import { echoDescription } from '../operations/echo.js';

/** Files made from the descriptors and the table of routes, by their path from the project's root. */
export async function generatedFiles(root: string): Promise<Map<string, string>> {
  const folder = new URL('../analyses/', import.meta.url);
  const ids = readdirSync(new URL('./src/analyses/', `file://${root}/`), { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map((entry) => entry.name)
    .sort();
  const analyses: Analysis[] = [];
  for (const id of ids) analyses.push((await import(new URL(`${id}/index.js`, folder).href)).default as Analysis);
  const files = new Map<string, string>();
  files.set('src/analyses/catalogue.ts', catalogueText(ids));
  for (const analysis of analyses) files.set(`docs/analyses/${analysis.id}.md`, analysisPage(analysis));
  const processes = [...analyses.map(describeProcess), echoDescription()];
  files.set('openapi/openapi.json', `${JSON.stringify(openApiTemplate(processes), null, 2)}\n`);
  return files;
}

const variable = (id: string) => id.replace(/-(\w)/g, (_, letter: string) => letter.toUpperCase());

function catalogueText(ids: readonly string[]): string {
  const imports = [
    { from: './contract.js', line: "import type { Analysis } from './contract.js';" },
    ...ids.map((id) => ({ from: `./${id}/index.js`, line: `import ${variable(id)} from './${id}/index.js';` })),
  ].sort((a, b) => (a.from < b.from ? -1 : 1));
  return [
    '// Made by `npm run generate` from the folders beside this file; do not edit.',
    ...imports.map(({ line }) => line),
    '',
    '/** Every analysis of the service, by name. */',
    'export const catalogue: readonly Analysis[] = [',
    ...ids.map((id) => `  ${variable(id)},`),
    '] as unknown as readonly Analysis[];',
    '',
  ].join('\n');
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const root = fileURLToPath(new URL('../../', import.meta.url)).replace(/\/$/, '');
  for (const [path, text] of await generatedFiles(root)) {
    const file = new URL(`./${path}`, `file://${root}/`);
    mkdirSync(new URL('./', file), { recursive: true });
    let old = '';
    try {
      old = readFileSync(file, 'utf8');
    } catch {
      // not there yet
    }
    if (old !== text) {
      writeFileSync(file, text);
      process.stdout.write(`${path}\n`);
    }
  }
}
