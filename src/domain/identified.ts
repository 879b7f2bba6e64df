import { wordReader } from './columns.js';
import { type CodeColumn, codeColumn, type FeatureTable } from './feature-table.js';

/**
 * The class of every find as known at a date: the class of the register, replaced by each later identification.
 * Old figures stay explainable because the date chooses the class.
 * @param asOf  ISO date, or null for the newest
 */
export function classAsOf(finds: FeatureTable, identifications: FeatureTable | null, asOf: string | null): CodeColumn {
  const registered = wordReader(finds, 'artefact_class');
  const words: (string | null)[] = [];
  for (let i = 0; i < finds.length; i++) words.push(registered(i));
  if (identifications && identifications.length > 0) {
    const find = wordReader(identifications, 'find');
    const named = wordReader(identifications, 'artefact_class');
    const date = wordReader(identifications, 'date');
    // a later date replaces an earlier one; on one day the later row does
    const order = Array.from({ length: identifications.length }, (_, i) => i).sort(
      (a, b) => (date(a) ?? '').localeCompare(date(b) ?? '') || a - b,
    );
    const latest = new Map<string, string | null>();
    for (const i of order) {
      if (asOf !== null && (date(i) ?? '') > asOf) continue;
      latest.set(find(i) ?? '', named(i));
    }
    const label = wordReader(finds, 'find');
    for (let i = 0; i < finds.length; i++) {
      const name = label(i) ?? '';
      if (latest.has(name)) words[i] = latest.get(name) ?? null;
    }
  }
  return codeColumn(words);
}
