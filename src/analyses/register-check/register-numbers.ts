import type { RegisterEntries } from '../../domain/sample.js';
import { named } from './level-checks.js';
import type { Oddity } from './schemas.js';

/** What the register itself shows, places and elevations left aside. */
export function checkRegister(register: RegisterEntries | undefined, seasons: readonly string[]): Oddity[] {
  if (register === undefined) return [];
  const everyNumber = register.allNumbers ?? [];
  return [
    ...numbersAlike(everyNumber),
    ...numbersLeftOut(everyNumber),
    ...childrenAlone(register, new Set(everyNumber), seasons),
    ...unknownWords(register, seasons),
  ];
}

const nowhere = { season: null, x_m: null, y_m: null, unit: '1', before_backfill: false } as const;

/** A number as one reads it aloud: without case, spaces, punctuation and leading zeros. */
const spoken = (find: string) =>
  find
    .toUpperCase()
    .replace(/[^\p{L}\p{N}]+/gu, '')
    .replace(/(?<!\d)0+(?=\d)/g, '');

/** An import refuses the same number twice; TL-0012 and tl 12 it cannot. */
function numbersAlike(finds: readonly string[]): Oddity[] {
  const groups = new Map<string, string[]>();
  for (const find of finds) {
    const key = spoken(find);
    const group = groups.get(key);
    if (group) group.push(find);
    else groups.set(key, [find]);
  }
  return [...groups.values()]
    .filter((group) => group.length > 1)
    .map((group) => ({
      ...nowhere,
      kind: 'duplicate_number',
      where: `finds ${group.slice(0, 6).join(', ')}${group.length > 6 ? ` and ${group.length - 6} more` : ''}`,
      value: group.length,
      beyond: group.length - 1,
      rule: 'a register number is used once; these differ by case, spaces, punctuation or leading zeros only',
      severity: 'serious',
    }));
}

/** fewer numbers than this make no series, and a series with more gaps than numbers was never meant to be whole */
const leastNumbers = 10;
const leastShare = 0.5;

/** Runs of numbers that a series of the register leaves out. */
function numbersLeftOut(finds: readonly string[]): Oddity[] {
  const bySeries = new Map<string, { number: number; digits: number }[]>();
  for (const find of finds) {
    const parts = /^(.*?)(\d{1,12})$/su.exec(find);
    if (parts === null) continue;
    const series = bySeries.get(parts[1]) ?? [];
    series.push({ number: Number(parts[2]), digits: parts[2].length });
    bySeries.set(parts[1], series);
  }
  return [...bySeries].flatMap(([prefix, series]) => {
    const sorted = series.sort((a, b) => a.number - b.number);
    const span = sorted[sorted.length - 1].number - sorted[0].number + 1;
    if (sorted.length < leastNumbers || sorted.length < leastShare * span) return [];
    const written = (number: number, digits: number) => `${prefix}${String(number).padStart(digits, '0')}`;
    return sorted.slice(1).flatMap(({ number, digits }, k): Oddity[] => {
      const missing = number - sorted[k].number - 1;
      if (missing < 1) return [];
      const first = written(sorted[k].number + 1, digits);
      return [
        {
          ...nowhere,
          kind: 'missing_number',
          where: missing === 1 ? `find ${first}` : `finds ${first} to ${written(number - 1, digits)}`,
          value: missing,
          beyond: missing,
          rule: 'numbers of a register follow each other; a number not used is written down as not used',
          severity: 'look',
        },
      ];
    });
  });
}

const seasonOf = ({ seasonCode }: RegisterEntries, i: number, seasons: readonly string[]) =>
  seasonCode[i] === 0 ? null : named(seasons[seasonCode[i] - 1]);

const placeOf = ({ xy }: RegisterEntries, i: number) =>
  Number.isFinite(xy[2 * i]) ? { x_m: xy[2 * i], y_m: xy[2 * i + 1] } : { x_m: null, y_m: null };

/** Children of a concretion that has no entry of its own: one row for each concretion. */
function childrenAlone(register: RegisterEntries, known: ReadonlySet<string>, seasons: readonly string[]): Oddity[] {
  const alone = new Map<string, number[]>();
  register.concretion.forEach((concretion, i) => {
    if (concretion === null || known.size === 0 || known.has(concretion)) return;
    const children = alone.get(concretion);
    if (children) children.push(i);
    else alone.set(concretion, [i]);
  });
  return [...alone].map(([concretion, children]) => ({
    ...nowhere,
    kind: 'child_without_parent',
    where: `finds ${children
      .slice(0, 6)
      .map((i) => register.find[i])
      .join(', ')}${children.length > 6 ? ` and ${children.length - 6} more` : ''}`,
    season: seasonOf(register, children[0], seasons),
    ...placeOf(register, children[0]),
    value: children.length,
    beyond: children.length,
    rule: `what came out of a concretion has the concretion in the register; there is no find ${concretion}`,
    severity: 'serious',
  }));
}

/** Finds without a class or a season: an import takes an empty cell for not known. */
function unknownWords(register: RegisterEntries, seasons: readonly string[]): Oddity[] {
  return register.find.flatMap((find, i): Oddity[] => {
    const row = (kind: 'class_unknown' | 'season_unknown', rule: string): Oddity => ({
      ...nowhere,
      kind,
      where: `find ${find}`,
      season: seasonOf(register, i, seasons),
      ...placeOf(register, i),
      value: null,
      beyond: null,
      rule,
      severity: 'note',
    });
    return [
      ...(register.classCode[i] === 0
        ? [row('class_unknown', 'a find has a class, if only "unidentified"; without one no table by class counts it')]
        : []),
      ...(register.seasonCode[i] === 0
        ? [row('season_unknown', 'a find has a season; without one no table by season counts it')]
        : []),
    ];
  });
}
