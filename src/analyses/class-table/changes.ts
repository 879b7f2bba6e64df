import type { Sample } from '../../domain/sample.js';
import { Problem } from '../../problems.js';
import type { AnswerTable } from '../contract.js';
import type { Parameters, Summary } from './schemas.js';

/** What became of one find between two states of the register. */
interface FindChange {
  readonly find: string;
  readonly before: string | null;
  readonly after: string | null;
  readonly change: 'arrived' | 'gone' | 'another class';
}

type Changes = NonNullable<Summary['changes']>;

/**
 * What changed by class from the state asked for to that of this run; null = nothing was asked for. Finds are told by
 * their register number: one that was given another number is gone and arrived.
 * @throws Problem cannot-answer where there is no earlier state to look at
 */
export function changesOf(sample: Sample, own: Parameters): Changes | null {
  if (!isAsked(own)) return null;
  const { before, after } = knownOf(sample);
  const isChosen = chosenClasses(sample);
  const rows = new Map<string | null, Omit<Changes['by_class'][number], 'artefact_class'>>();
  const add = (name: string | null, what: 'before' | 'arrived' | 'gone' | 'became' | 'ceased' | 'after') => {
    if (!isChosen(name)) return;
    const row = rows.get(name) ?? { before: 0, arrived: 0, gone: 0, became: 0, ceased: 0, after: 0 };
    rows.set(name, { ...row, [what]: row[what] + 1 });
  };
  for (const name of before.artefactClass) add(name, 'before');
  for (const name of after.artefactClass) add(name, 'after');
  for (const { change, before: was, after: is } of findChanges(sample)) {
    if (change === 'arrived') add(is, 'arrived');
    else if (change === 'gone') add(was, 'gone');
    else {
      add(was, 'ceased');
      add(is, 'became');
    }
  }
  return {
    from_version: before.version,
    from_identified_as_of: before.identifiedAsOf,
    to_version: after.version,
    to_identified_as_of: after.identifiedAsOf,
    by_class: [...rows]
      .sort(([a], [b]) => compareNames(a, b))
      .map(([artefact_class, row]) => ({ artefact_class, ...row })),
  };
}

/** One row for each find whose class is another, and each that is new or gone. */
export function changesTable(sample: Sample, own: Parameters): AnswerTable {
  const changes = isAsked(own) ? findChanges(sample) : [];
  const isChosen = isAsked(own) ? chosenClasses(sample) : () => false;
  return {
    columns: [
      { name: 'find', title: 'Find' },
      { name: 'change', title: 'Change' },
      { name: 'class_before', title: 'Class before' },
      { name: 'class_after', title: 'Class after' },
    ],
    rows: changes.flatMap(({ find, change, before, after }) => {
      const isWanted = (change !== 'arrived' && isChosen(before)) || (change !== 'gone' && isChosen(after));
      return isWanted ? [[find, change, before, after]] : [];
    }),
  };
}

const isAsked = (own: Parameters) => own.compare_version !== null || own.compare_identified_as_of !== null;

function knownOf(sample: Sample): NonNullable<Sample['known']> {
  if (sample.known) return sample.known;
  throw new Problem(
    'cannot-answer',
    'inputs compare_version and compare_identified_as_of need a site: plain files have no earlier version and no identifications',
  );
}

function findChanges(sample: Sample): FindChange[] {
  const { before, after } = knownOf(sample);
  const was = new Map(before.find.map((find, i) => [find, before.artefactClass[i]]));
  const is = new Set(after.find);
  const out: FindChange[] = [];
  after.find.forEach((find, i) => {
    const now = after.artefactClass[i];
    const then = was.get(find);
    if (then === undefined) out.push({ find, before: null, after: now, change: 'arrived' });
    else if (then !== now) out.push({ find, before: then, after: now, change: 'another class' });
  });
  before.find.forEach((find, i) => {
    if (!is.has(find)) out.push({ find, before: before.artefactClass[i], after: null, change: 'gone' });
  });
  return out;
}

/** Whether a class belongs to the selection; a find of unknown class only to one of all classes. */
function chosenClasses(sample: Sample): (name: string | null) => boolean {
  const { classes } = knownOf(sample);
  const chosen = classes === null ? null : new Set<string | null>(classes);
  return (name) => chosen === null || chosen.has(name);
}

/** By code unit, unknown last. */
function compareNames(a: string | null, b: string | null): number {
  if (a === b) return 0;
  if (a === null || b === null) return a === null ? 1 : -1;
  return a < b ? -1 : 1;
}
