import { type ComparedSeason, type SeasonGround, wayText } from './ground.js';
import { type CountsOnGround, dispersionOf, type WidenedRatio, widenedRatio } from './rates.js';
import type { CountedSeasons, CountedUnit } from './units.js';

/** Both seasons compared inside one stratum. */
export interface Stratum {
  /** tool_and_mesh: of the ground; recovery_method and size_class: of the finds, on all ground */
  readonly by: 'tool_and_mesh' | 'recovery_method' | 'size_class';
  readonly stratum: string;
  readonly n: readonly [number, number];
  readonly dugM2: readonly [number, number];
  readonly ratio: WidenedRatio;
}

/** What tool, mesh, way of recovery and size of the finds have to do with a difference between two seasons. */
export interface Strata {
  readonly strata: readonly Stratum[];
  /** why ground dug alike cannot be compared; null = it can */
  readonly reason: string | null;
}

export function strataOf(
  ground: SeasonGround,
  counted: CountedSeasons,
  pair: readonly [ComparedSeason, ComparedSeason],
): Strata {
  const areIndependent = counted.unit !== 'weight';
  const places = pair.map((season) => ground.seasons.indexOf(season));
  const unitsOf = (s: number) => counted.units.filter((unit) => unit.season === places[s]);
  const units = [unitsOf(0), unitsOf(1)] as const;
  const stratum = (
    by: Stratum['by'],
    name: string,
    of: { squares(s: 0 | 1): readonly number[]; isWanted(unit: CountedUnit): boolean },
  ): Stratum => {
    const side = (s: 0 | 1): CountsOnGround => {
      const squares = of.squares(s);
      const place = new Map(squares.map((square, k) => [square, k]));
      const counts = new Array<number>(squares.length).fill(0);
      for (const unit of units[s]) {
        const k = place.get(unit.square);
        if (k !== undefined && of.isWanted(unit)) counts[k] += unit.count;
      }
      return { counts, exposure: squares.map((square) => ground.seasonSquares[square].dugM2) };
    };
    const [first, second] = [side(0), side(1)];
    const sum = (values: readonly number[]) => values.reduce((total, v) => total + v, 0);
    return {
      by,
      stratum: name,
      n: [sum(first.counts), sum(second.counts)],
      dugM2: [sum(first.exposure), sum(second.exposure)],
      ratio: widenedRatio(first, second, { dispersion: dispersionOf([first, second]), areIndependent }),
    };
  };
  const ways = new Map(pair.flatMap((season) => season.dugWith).map((way) => [wayText(way), way]));
  const byWay = [...ways.keys()].map((name) =>
    stratum('tool_and_mesh', name, {
      squares: (s) => pair[s].squares.filter((square) => wayText(ground.dugWith[square]) === name),
      isWanted: () => true,
    }),
  );
  const byFind = (by: 'recovery_method' | 'size_class', of: (unit: CountedUnit) => string | null) => {
    const names = [...new Set([...units[0], ...units[1]].map(of))].filter((name) => name !== null).sort();
    return names.length < 2
      ? []
      : names.map((name) =>
          stratum(by, name, { squares: (s) => pair[s].squares, isWanted: (unit) => of(unit) === name }),
        );
  };
  const isStated = [...ways.values()].some((way) => way.tool !== null || way.meshMm !== null);
  const isCommon = byWay.some(({ dugM2 }) => dugM2[0] > 0 && dugM2[1] > 0);
  return {
    strata: [
      ...(isStated ? byWay : []),
      ...byFind('recovery_method', (unit) => unit.recoveryMethod),
      ...byFind('size_class', (unit) => unit.sizeClass),
    ],
    reason: !isStated
      ? 'neither tool nor mesh of the ground is stated'
      : isCommon
        ? null
        : `no ground was dug alike in both seasons (${pair
            .map(({ name, dugWith }) => `${name}: ${dugWith.map(wayText).join('; ')}`)
            .join(' against ')}): what tool and mesh made cannot be told from what the season made`,
  };
}
