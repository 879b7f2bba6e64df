import type { KeptAnswer } from '../operations/answer-parts.js';

/** An answer for a terminal: the numbers in aligned columns, then the table, what to beware of, and the methods. */
export function answerText(title: string, answer: KeptAnswer): string {
  const numbers = flatten(answer.summary);
  const width = Math.max(...numbers.map(([name]) => name.length));
  const lines = [
    title,
    '',
    ...numbers.map(([name, value]) => `  ${name.padEnd(width)}  ${value}`),
    '',
    ...answer.cautions.map((caution) => `  ! ${caution}`),
    '',
    answer.methods,
  ];
  return `${lines.join('\n')}\n`;
}

function flatten(value: unknown, path = ''): [string, string][] {
  if (Array.isArray(value)) {
    if (value.every((v) => typeof v === 'number' || v === null)) return [[path, value.map(shown).join('  ')]];
    return value.flatMap((v, i) => flatten(v, `${path}[${i}]`));
  }
  if (value !== null && typeof value === 'object') {
    return Object.entries(value).flatMap(([key, v]) => flatten(v, path === '' ? key : `${path}.${key}`));
  }
  return [[path, shown(value)]];
}

function shown(value: unknown): string {
  if (value === null) return 'not known';
  if (typeof value === 'number' && !Number.isInteger(value)) return String(Number(value.toPrecision(6)));
  return String(value);
}
