import { spawnSync } from 'node:child_process';
import { join } from 'node:path';

/**
 * Milliseconds that an R script beside this file prints on its last line.
 * @returns null when R or one of its packages is not there
 */
export function askR(script: string, words: readonly string[]): number | null {
  const asked = spawnSync('Rscript', [join(import.meta.dirname, script), ...words], { encoding: 'utf8' });
  if (asked.error !== undefined || asked.status !== 0) return null;
  const last = Number(asked.stdout.trim().split('\n').at(-1));
  return Number.isFinite(last) ? last : null;
}
