import type { Sample } from '../../domain/sample.js';
import { type LevelColumns, type SurfaceNodes, surfaceNodes } from '../../math/level-nodes.js';
import { Problem } from '../../problems.js';
import { commonCount } from './change.js';
import type { Parameters } from './schemas.js';

/** random standard deviation of a reading that states none, metres */
export const sigmaWhenUnstatedM = 0.03;
/** fewest nodes with both levels */
const leastCommon = 4;

/** One time of a surface: a season, and a state of the ground where that was asked. */
export interface Moment {
  readonly season: string;
  readonly state: string | null;
}

/** The two times compared. */
export interface ChosenMoments {
  readonly surface: string;
  readonly from: Moment;
  readonly to: Moment;
  readonly fromNodes: SurfaceNodes;
  readonly toNodes: SurfaceNodes;
  readonly unstatedSigmas: number;
  /** chosen by us, because none or only one was named */
  readonly isChosen: boolean;
}

export const momentName = ({ season, state }: Moment): string =>
  `${season || 'the season without a name'}${state === null ? '' : ` (${state})`}`;

/** names that plain level files give the two surfaces of the deposit */
const shortNames: Readonly<Record<string, string>> = { deposit_top: 'top', deposit_bottom: 'bottom' };

/**
 * The two seasons to compare: as asked; else, of all pairs, the one with most common nodes, the latest of equals.
 *
 * @throws Problem cannot-answer without levels, a second season, four common nodes or one datum; bad-parameter for a
 *   season without levels of the surface
 */
export function chosenMoments(sample: Sample, own: Parameters): ChosenMoments {
  const { levels } = sample;
  if (levels === null || levels.x.length === 0) {
    throw new Problem(
      'cannot-answer',
      'no levels in this selection: a change needs a surface levelled in two seasons (levels.csv of a site, or a level file with a column season)',
    );
  }
  const short = shortNames[own.surface];
  const surface =
    !levels.surface.includes(own.surface) && short && levels.surface.includes(short) ? short : own.surface;
  const seasons = seasonsOf(sample, surface);
  if (seasons.length === 0) {
    throw new Problem(
      'cannot-answer',
      `no levels of ${own.surface}; the levels are of ${[...new Set(levels.surface)].sort().join(', ')}`,
      { surface: own.surface },
    );
  }
  const nodesOf = (moment: Moment): SurfaceNodes | null => {
    const rows = rowsOf(sample, surface, moment);
    if (rows.length === 0) return null;
    return surfaceNodes(pick(sample, rows, own.sigma_random_m), {
      surface,
      nodeValue: 'newest',
      seasons: sample.seasons,
    });
  };
  const { from, to, isChosen } = momentsOf(sample, own, { seasons, nodesOf });
  const [fromNodes, toNodes] = [from, to].map((moment) => {
    const nodes = nodesOf(moment);
    if (nodes) return nodes;
    throw new Problem(
      'bad-parameter',
      `no levels of ${surface} in ${momentName(moment)}; it was levelled in ${seasons.join(', ')}`,
      { season: moment.season },
    );
  });
  oneDatum(sample, surface, [from, to]);
  const spacingM = sample.grid?.node_spacing ?? null;
  const common = commonCount({ from: fromNodes, to: toNodes, spacingM });
  if (common < leastCommon) {
    throw new Problem(
      'cannot-answer',
      `${surface} of ${momentName(from)} and ${momentName(to)} share ${common} ${common === 1 ? 'node' : 'nodes'}; at least ${leastCommon} are needed to compare them`,
      { common, from_season: from.season, to_season: to.season },
    );
  }
  const stated = [from, to].flatMap((moment) => rowsOf(sample, surface, moment));
  return {
    surface,
    from,
    to,
    fromNodes,
    toNodes,
    isChosen,
    unstatedSigmas: own.sigma_random_m === null ? stated.filter((i) => !(levels.sigma[i] >= 0)).length : 0,
  };
}

/** Seasons in which a surface was levelled, oldest first as the site lists them. */
function seasonsOf({ levels, seasons }: Sample, surface: string): string[] {
  const found = new Set(
    levels?.season.filter((_, i) => levels.surface[i] === surface && levels.state[i] !== 'set_aside'),
  );
  const others = [...found].filter((s) => !seasons.includes(s)).sort();
  return [...seasons.filter((s) => found.has(s)), ...others];
}

function rowsOf({ levels }: Sample, surface: string, { season, state }: Moment): number[] {
  if (levels === null) return [];
  return Array.from(levels.x.keys()).filter(
    (i) =>
      levels.surface[i] === surface &&
      levels.season[i] === season &&
      levels.state[i] !== 'set_aside' &&
      (state === null || levels.state[i] === state) &&
      Number.isFinite(levels.x[i] + levels.y[i] + levels.elevation[i]),
  );
}

function pick({ levels }: Sample, rows: readonly number[], sigmaM: number | null): LevelColumns {
  if (levels === null) throw new Error('no levels to pick from');
  const numbers = (of: Float64Array) => Float64Array.from(rows, (i) => of[i]);
  const words = <T>(of: readonly T[]) => rows.map((i) => of[i]);
  return {
    x: numbers(levels.x),
    y: numbers(levels.y),
    elevation: numbers(levels.elevation),
    sigma: numbers(levels.sigma).map((s) => sigmaM ?? (s >= 0 ? s : sigmaWhenUnstatedM)),
    surface: words(levels.surface),
    season: words(levels.season),
    node: words(levels.node),
    state: words(levels.state),
  };
}

function momentsOf(
  sample: Sample,
  own: Parameters,
  known: { readonly seasons: readonly string[]; nodesOf(moment: Moment): SurfaceNodes | null },
): { from: Moment; to: Moment; isChosen: boolean } {
  const { seasons, nodesOf } = known;
  const [fromState, toState] = [own.from_state, own.to_state];
  if (own.from_season !== null && own.to_season !== null) {
    if (own.from_season === own.to_season && fromState === toState) {
      throw new Problem('bad-parameter', `from_season and to_season are both ${own.from_season}: nothing to compare`);
    }
    return {
      from: { season: own.from_season, state: fromState },
      to: { season: own.to_season, state: toState },
      isChosen: false,
    };
  }
  const nodes = new Map<string, SurfaceNodes | null>();
  const at = (season: string, state: string | null) => {
    const key = `${season}|${state ?? ''}`;
    if (!nodes.has(key)) nodes.set(key, nodesOf({ season, state }));
    return nodes.get(key) ?? null;
  };
  let best: { from: Moment; to: Moment; common: number } | null = null;
  seasons.forEach((from, i) => {
    seasons.forEach((to, k) => {
      if (k <= i || (own.from_season ?? from) !== from || (own.to_season ?? to) !== to) return;
      const [a, b] = [at(from, fromState), at(to, toState)];
      const common = a && b ? commonCount({ from: a, to: b, spacingM: sample.grid?.node_spacing ?? null }) : 0;
      if (best === null || common >= best.common) {
        best = { from: { season: from, state: fromState }, to: { season: to, state: toState }, common };
      }
    });
  });
  if (best === null) {
    throw new Problem(
      'cannot-answer',
      `${own.surface} was levelled in ${seasons.length === 1 ? `one season only (${seasons[0] || 'without a name'})` : `no such pair of seasons; it was levelled in ${seasons.join(', ')}`}: a change needs two`,
    );
  }
  return { ...(best as { from: Moment; to: Moment }), isChosen: true };
}

/** @throws Problem cannot-answer when the levels name different vertical datums */
function oneDatum(sample: Sample, surface: string, [from, to]: readonly Moment[]): void {
  const datum = sample.levels?.datum;
  if (!datum) return;
  const named = (moment: Moment) => [
    ...new Set(rowsOf(sample, surface, moment).flatMap((i) => (datum[i] ? [datum[i] as string] : []))),
  ];
  const all = [...new Set([...named(from), ...named(to)])];
  if (all.length > 1) {
    throw new Problem(
      'cannot-answer',
      `levels of ${surface} stand in different vertical datums: ${momentName(from)} in ${named(from).join(', ') || 'none named'}, ${momentName(to)} in ${named(to).join(', ') || 'none named'}; reduce them to one datum first`,
      { datums: all },
    );
  }
}
