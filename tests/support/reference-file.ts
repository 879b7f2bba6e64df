import { readFileSync } from 'node:fs';
import { join } from 'node:path';

/** A reference file by its path below tests/reference, without ending: what went in, and what another program made of it. */
export function readReferenceFile<Input, Expected>(
  name: string,
): { readonly input: Input; readonly expected: Expected } {
  return JSON.parse(readFileSync(join(import.meta.dirname, '../reference', `${name}.json`), 'utf8'));
}
