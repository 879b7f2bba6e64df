import { groundBySquare } from '../../domain/counting-squares.js';
import { holm } from '../../math/holm.js';
import { intersection, union } from '../../math/overlay.js';
import { rateRatio } from '../../math/rate-ratio.js';
import { insideEvenOdd, shiftRegion } from '../../math/rings.js';
import { Problem } from '../../problems.js';
import type { AnswerTable } from '../contract.js';
import type { ClassBook } from './book.js';
import type { Parameters, Summary } from './schemas.js';

/** Where a find lies: in ground that was disturbed, in other ground, or in a square that holds both. */
type GroundState = 'disturbed' | 'undisturbed' | 'either';

/** Finds and dug ground, parted by the disturbed contexts. */
export interface DisturbedGround {
  readonly contexts: readonly { readonly name: string; readonly kind: string | null }[];
  readonly disturbedM2: number;
  readonly undisturbedM2: number;
  /** [entries] null = in no dug square */
  readonly state: readonly (GroundState | null)[];
  /** [entries] names of the contexts a find lies in, or may lie in */
  readonly context: readonly (string | null)[];
}

/** Whether the rows asked for are about disturbed ground. */
export const asksDisturbed = (own: Parameters): boolean => own.list === 'disturbed' || own.list === 'disturbed_finds';

/** a square whose ground lies on one side but for this share is taken for whole */
const wholeShare = 1e-6;

/**
 * Parts finds and ground by the contexts that are disturbed: a find with a position by where it lies, one known by its
 * square only where the whole square lies on one side.
 * @throws Problem cannot-answer when no context is of the kinds asked for
 */
export function disturbedGround(book: ClassBook, own: Parameters): DisturbedGround | null {
  if (!asksDisturbed(own)) return null;
  const { ground, entries, placed, sample } = book;
  const { local, squares, pooled, origin } = ground;
  const wanted = (kind: string | null) =>
    own.disturbed_kinds === null ? kind !== 'layer' : kind !== null && own.disturbed_kinds.includes(kind);
  const chosen = sample.contexts.filter((context) => wanted(context.kind));
  if (chosen.length === 0) {
    const kinds = [...new Set(sample.contexts.map((context) => context.kind ?? 'no kind'))].sort();
    throw new Problem(
      'cannot-answer',
      `list = ${own.list} needs a context of kind ${own.disturbed_kinds?.join(' or ') ?? 'disturbance (any but layer)'}; ${kinds.length === 0 ? 'there are no contexts: draw the pits and cuts in contexts.geojson' : `kinds here: ${kinds.join(', ')}`}`,
      { list: own.list, disturbed_kinds: own.disturbed_kinds },
    );
  }
  const contexts = chosen.map(({ name, kind, region }) => ({
    name,
    kind,
    region: shiftRegion(region, origin[0], origin[1]),
  }));
  const inside = intersection(local.window, union(contexts.map((context) => context.region)));
  const cut =
    inside.rings.length === 0
      ? new Float64Array(pooled.exposureM2.length)
      : groundBySquare({ ...local, window: inside }, squares).exposureM2;
  const sum = (values: Float64Array) => values.reduce((total, v) => total + v, 0);
  const disturbedM2 = sum(cut);
  const stateOf = (i: number): GroundState | null => {
    const tile = placed.tile[i];
    if (tile < 0) return null;
    const [x, y] = [entries.xy[2 * i], entries.xy[2 * i + 1]];
    if (!Number.isNaN(x)) return contextsAt(x, y).length > 0 ? 'disturbed' : 'undisturbed';
    const share = cut[tile] / pooled.exposureM2[tile];
    if (!(share > wholeShare)) return 'undisturbed';
    return share > 1 - wholeShare ? 'disturbed' : 'either';
  };
  const contextsAt = (x: number, y: number) => contexts.filter(({ region }) => insideEvenOdd(region, x, y));
  const state = entries.find.map((_, i) => stateOf(i));
  return {
    contexts: contexts.map(({ name, kind }) => ({ name, kind })),
    disturbedM2,
    undisturbedM2: Math.max(0, sum(pooled.exposureM2) - disturbedM2),
    state,
    context: entries.find.map((_, i) => {
      if (Number.isNaN(entries.xy[2 * i])) return null;
      return (
        contextsAt(entries.xy[2 * i], entries.xy[2 * i + 1])
          .map(({ name }) => name)
          .join('; ') || null
      );
    }),
  };
}

/** The part of the summary about disturbed ground. */
export function disturbedPart(book: ClassBook, of: DisturbedGround | null): Summary['disturbed'] {
  if (of === null) return null;
  const { entries, sample } = book;
  const rowOf = (code: number | null) => {
    const count = (wanted: GroundState) =>
      of.state.reduce(
        (sum, state, i) => sum + (state === wanted && (code === null || entries.classCode[i] === code) ? 1 : 0),
        0,
      );
    // a find known by its square counts on no side where the square holds both, but its ground would: rates leave all such out
    const measured = (wanted: GroundState) =>
      of.state.reduce((sum, state, i) => {
        const isOne = state === wanted && !Number.isNaN(entries.xy[2 * i]);
        return sum + (isOne && (code === null || entries.classCode[i] === code) ? 1 : 0);
      }, 0);
    const [inside, outside] = [measured('disturbed'), measured('undisturbed')];
    const ratio = rateRatio({ n1: inside, area1: of.disturbedM2, n2: outside, area2: of.undisturbedM2 });
    return {
      disturbed: count('disturbed'),
      undisturbed: count('undisturbed'),
      either: count('either'),
      disturbed_measured: inside,
      undisturbed_measured: outside,
      disturbed_per_m2: of.disturbedM2 > 0 ? inside / of.disturbedM2 : null,
      undisturbed_per_m2: of.undisturbedM2 > 0 ? outside / of.undisturbedM2 : null,
      rate_ratio: ratio?.ratio ?? null,
      low: ratio?.low ?? null,
      high: ratio?.high ?? null,
      p_two_sided: ratio?.p ?? null,
    };
  };
  const rows = book.classes.map((code) => ({
    artefact_class: code === 0 ? null : sample.classes[code - 1],
    ...rowOf(code),
  }));
  const raised = holm(rows.map((row) => row.p_two_sided));
  return {
    contexts: of.contexts.map(({ name }) => name),
    disturbed_m2: of.disturbedM2,
    undisturbed_m2: of.undisturbedM2,
    all: rowOf(null),
    by_class: rows.map((row, k) => ({ ...row, p_holm: raised[k] })),
  };
}

const numberColumns = [
  ['disturbed', 'Finds in disturbed ground', '1'],
  ['undisturbed', 'Finds in other dug ground', '1'],
  ['either', 'Finds known by a square that holds both', '1'],
  ['disturbed_measured', 'Of the first, with a measured position', '1'],
  ['undisturbed_measured', 'Of the second, with a measured position', '1'],
  ['disturbed_per_m2', 'Per m² of disturbed ground', 'm-2'],
  ['undisturbed_per_m2', 'Per m² of other ground', 'm-2'],
  ['rate_ratio', 'First over second', '1'],
  ['low', 'Lower end, 95 %', '1'],
  ['high', 'Upper end, 95 %', '1'],
  ['p_two_sided', 'Exact two-sided p', '1'],
] as const;

/** One row for each class: disturbed against other ground. */
export function disturbedTable(part: NonNullable<Summary['disturbed']>): AnswerTable {
  const cells = (row: NonNullable<Summary['disturbed']>['all']) => numberColumns.map(([name]) => row[name]);
  return {
    columns: [
      { name: 'artefact_class', title: 'Artefact class' },
      ...numberColumns.map(([name, title, unit]) => ({ name, title, unit })),
      { name: 'p_holm', title: 'p allowing for all classes (Holm)', unit: '1' },
    ],
    rows: [
      ...part.by_class.map((row) => [row.artefact_class, ...cells(row), row.p_holm]),
      ['all classes', ...cells(part.all), null],
    ],
  };
}

/** One row for each find that lies in disturbed ground, or may. */
export function disturbedFinds(book: ClassBook, of: DisturbedGround): AnswerTable {
  const { entries, sample, ground, placed } = book;
  return {
    columns: [
      { name: 'find', title: 'Find' },
      { name: 'artefact_class', title: 'Artefact class' },
      { name: 'season', title: 'Season' },
      { name: 'square', title: 'Square' },
      { name: 'ground', title: 'disturbed, or either where only a square that holds both is known' },
      { name: 'context', title: 'Contexts it lies in' },
      { name: 'position_kind', title: 'How the position is known' },
    ],
    rows: entries.find.flatMap((find, i) => {
      const state = of.state[i];
      if (state !== 'disturbed' && state !== 'either') return [];
      return [
        [
          find,
          entries.classCode[i] === 0 ? null : sample.classes[entries.classCode[i] - 1],
          entries.seasonCode[i] === 0 ? null : sample.seasons[entries.seasonCode[i] - 1],
          ground.squares.label(placed.tile[i]),
          state,
          of.context[i],
          entries.kind[i],
        ],
      ];
    }),
  };
}
