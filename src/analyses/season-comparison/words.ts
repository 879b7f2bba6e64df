import type { Sample } from '../../domain/sample.js';
import { generatorName } from '../../math/random.js';
import type { Compared } from './answer.js';
import { leastShared } from './pairs.js';
import type { PairRow, Summary } from './schemas.js';

export function shown(value: number | null, digits = 3): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

export const unitText: Readonly<Record<Summary['count_unit'], string>> = {
  find: 'finds',
  piece: 'pieces',
  pot_vessel: 'pot vessels',
  weight: 'grams',
};

const plural = (count: number, word: string) => `${count} ${word}${count === 1 ? '' : 's'}`;

type Ratio = PairRow['per_m2'];

/** "2 times (95 % interval 1.4 to 2.9)" */
function ratioText(ratio: Ratio): string {
  if (ratio.value === null) {
    return ratio.low === null
      ? 'a ratio that is not known'
      : `at least ${shown(ratio.low)} times (the first season has none)`;
  }
  const interval =
    ratio.low === null
      ? ''
      : ` (95 % interval ${shown(ratio.low)} to ${ratio.high === null ? 'no end' : shown(ratio.high)})`;
  return `${shown(ratio.value)} times${interval}`;
}

/** What the reading leaves open. */
function readingText(pair: PairRow): string {
  const ratio = pair.place === 'shared' && pair.shared ? pair.shared.per_m2 : pair.per_m2;
  const { seen_above: above, seen_below: below } = ratio;
  switch (pair.reading) {
    case 'differ':
      return 'Richer ground, a thicker or less disturbed deposit, a finer mesh, another tool or another eye can each make that.';
    case 'no_difference_seen':
      return `No difference is seen; one of ${shown(above)} times or more, or ${shown(below, 2)} or less, would have been, 8 times in 10.`;
    case 'cannot_tell':
      return above === null
        ? 'Cannot tell: with so few finds no ratio, however large, would be seen 8 times in 10.'
        : `Cannot tell: with so few independent finds only ratios of ${shown(above)} or more${below === null ? '' : `, or ${shown(below, 2)} or less,`} would be seen 8 times in 10.`;
  }
}

function pairText(pair: PairRow, unit: string): string {
  const whole = `${ratioText(pair.per_m2)} as many ${unit} per m² as ${pair.first}, p = ${shown(pair.p)}`;
  const deposit =
    pair.per_m3 === null ? '' : `; per m³ of deposit ${ratioText(pair.per_m3)}, p = ${shown(pair.p_per_m3)}`;
  const { shared } = pair;
  if (pair.place === 'shared' && shared) {
    const both = `On the ${pair.shared_squares} squares dug in both, ${pair.second} has ${ratioText(shared.per_m2)} as many ${unit} per m² as ${pair.first}, p = ${shown(shared.p)}${shared.per_m3 === null ? '' : `; per m³ of deposit ${ratioText(shared.per_m3)}`}`;
    return pair.per_m2.value === shared.per_m2.value &&
      pair.n_first === shared.n_first &&
      pair.n_second === shared.n_second
      ? both
      : `${both}. On all ground dug, where place differs too, ${whole}${deposit}`;
  }
  const few =
    pair.shared_squares === 0
      ? 'no square was dug in both'
      : `only ${plural(pair.shared_squares, 'square')} ${pair.shared_squares === 1 ? 'was' : 'were'} dug in both`;
  return `Place and recovery differ: ${few}. ${pair.second} has ${whole}${deposit}`;
}

/** Whether place and recovery differ, in a few words. */
export function headlineOf(numbers: Compared['numbers']): string {
  const pair = leadOf(numbers);
  if (pair === null) return 'Nothing to compare';
  if (pair.place === 'differs') return 'Place and recovery differ';
  return pair.strata_reason?.startsWith('no ground') ? 'Squares are shared, recovery differs' : 'Squares are shared';
}

/** The pair that leads the answer. */
export function leadOf(numbers: Pick<Summary, 'first' | 'second' | 'pairs'>): PairRow | null {
  return numbers.pairs.find((pair) => pair.first === numbers.first && pair.second === numbers.second) ?? null;
}

/** The answer in a sentence or two. */
export function sentenceOf(numbers: Compared['numbers']): string {
  const { seasons } = numbers;
  const unit = unitText[numbers.count_unit];
  const pair = leadOf(numbers);
  if (pair === null) {
    return seasons.length === 0
      ? 'No season of this selection dug any ground: nothing to compare.'
      : `Only ${seasons[0].season} dug ground in this selection: nothing to compare.`;
  }
  if (numbers.n === 0)
    return `Cannot tell: no ${unit} in the ground dug in ${seasons.map((row) => row.season).join(', ')}.`;
  return [`${pairText(pair, unit)}.`, readingText(pair), ...allText(numbers, unit)].join(' ');
}

function allText({ seasons, all_seasons, pairs }: Compared['numbers'], unit: string): string[] {
  if (seasons.length < 3) return [];
  const rated = seasons.filter((row) => row.per_m2 !== null);
  if (rated.length === 0) return [];
  const by = (a: (typeof rated)[number], b: (typeof rated)[number]) => (a.per_m2 ?? 0) - (b.per_m2 ?? 0);
  const [least, most] = [[...rated].sort(by)[0], [...rated].sort(by)[rated.length - 1]];
  const differ = pairs.filter((pair) => pair.p_holm !== null && pair.p_holm <= 0.05).length;
  return [
    `Over all ${seasons.length} seasons ${unit} per m² run from ${shown(least.per_m2)} (${least.season}) to ${shown(most.per_m2)} (${most.season}), p = ${shown(all_seasons.p)}; ${differ} of ${pairs.length} pairs differ after Holm.`,
  ];
}

/** The paragraph for a methods section. */
export function methodsOf(
  summary: Summary,
  of: { readonly sample: Sample; readonly compared: Compared; readonly seed: number; readonly squareM: number },
): string {
  const { sample, compared } = of;
  const { counted, depths, ground } = compared;
  const where = sample.grid
    ? `the square the register states, else the one they lie in by the boundary rule (${sample.grid.boundary_rule}) of grid ${sample.grid.id}`
    : `squares of ${of.squareM} m from the lower-left corner of the window`;
  const one =
    counted.unit === 'pot_vessel'
      ? 'a pot vessel counts once in each season, in the square that holds most of it'
      : counted.unit === 'find' && counted.spot === 'concretion'
        ? 'the finds of one concretion count once in each season'
        : 'every find counts';
  return [
    `${unitText[summary.count_unit]} counted by season and square (${where}; ${one}); window ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}); ${ground.seasons.map(({ name, dugM2 }) => `${name} ${shown(dugM2, 6)} m²`).join(', ')} of ground dug (area times the share dug).`,
    'Rates per m² and per m³ (thickness of a square from its own season’s levels) with exact 95 % intervals (Garwood 1936), ratios by the binomial split (Clopper & Pearson 1934); both are given once as if finds fell one by one and once with counts divided by their dispersion χ² / df over squares (quasi-Poisson, Wedderburn 1974); k of the negative binomial law after Bliss & Fisher 1953.',
    'p of rates: whole squares, with what was found in them, dealt out over the seasons; on squares dug in both, the two seasons swapped within each square (all swaps up to 12 squares, else random ones); raised for the number of pairs by Holm 1979.',
    `Syrjala’s test (1996) on squares dug in both, not on fewer than ${leastShared}: densities brought to a sum of 1, Ψ over the four corners, both densities swapped within squares by the same rule.`,
    'Centre, standard distance and ellipse (divisor n) ranked among random scatters in each season’s own ground, pots and concretions laid down as one (Besag & Diggle 1977); intervals of the shift of centres from squares drawn anew.',
    ...(depths
      ? [
          `${depths.measure === 'relative_depth' ? 'Relative depth in the deposit between top and bottom as the find’s own season levelled them, where thicker than four of its errors' : 'Elevation'}, pots and concretions by their mean, compared by Mann & Whitney 1947 and Kolmogorov–Smirnov.`,
        ]
      : []),
    ...(summary.class_mix
      ? [
          'Class mix by χ² and standardised residuals (Haberman 1973), seasons dealt out over finds, pots and concretions whole, cells raised by Holm.',
        ]
      : []),
    `${summary.simulations} simulations, p = (1 + number as extreme) / (simulations + 1), seed ${of.seed}, generator ${generatorName}.`,
  ].join(' ');
}
