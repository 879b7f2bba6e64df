import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';

/** Inside what class names may change places. */
export const labellings = ['everywhere', 'within_seasons', 'within_squares'] as const;
export type LabellingRule = (typeof labellings)[number];

const mostDistances = 12;

/** Reads distances: a list of numbers, or text with commas as a command line gives it. @returns a sentence when they cannot be used */
function readDistances(given: readonly (string | number)[] | string | null): number[] | null | string {
  if (given === null) return null;
  const words = [given].flat().flatMap((item) => String(item).split(/[\s,;[\]]+/));
  const distances = words.filter((word) => word !== '').map(Number);
  if (distances.length === 0) return 'give at least one distance in metres, or leave it out';
  if (distances.length > mostDistances) {
    return `${distances.length} distances are too many; at most ${mostDistances} are compared, each is looked at in every pair of classes`;
  }
  const wrong = distances.findIndex((d, k) => !Number.isFinite(d) || d <= 0 || (k > 0 && d <= distances[k - 1]));
  if (wrong >= 0) return `distances must rise and be above 0 m, but number ${wrong + 1} is ${distances[wrong]}`;
  return distances;
}

const className = z.string().nullable().default(null);

/** Own inputs of class-association. */
export const parameters = z.strictObject({
  distances: z
    .union([z.array(z.string()), z.array(z.number()), z.string()])
    .nullable()
    .default(null)
    .transform((given, context) => {
      const read = readDistances(given);
      if (typeof read !== 'string') return read;
      context.addIssue({ code: 'custom', message: read });
      return z.NEVER;
    })
    .meta({
      title: 'Distances',
      description:
        'Rising distances in metres for pairs of classes, as a list or as text "0.5,1", chosen before looking; none = a quarter, a half and the whole of the grid spacing, on a plain window 1/32, 1/16 and 1/8 of its shorter side',
      'x-ogc-unit': 'm',
    }),
  first: className.meta({
    title: 'First class',
    description:
      'With `second`: the pair asked about beforehand, which the answer leads with; none = the strongest pair',
  }),
  second: className.meta({ title: 'Second class', description: 'The other class of the pair asked about' }),
  edge: z.enum(['translation', 'none']).default('translation').meta({
    title: 'Edge correction',
    description: 'Of K: translation weights, exact in any window and the same in either direction, or none',
  }),
  labelling: z.enum(labellings).default('everywhere').meta({
    title: 'Labelling',
    description:
      'Names are dealt out anew over all finds, only among finds of one season, or only inside a square: the last looks at what is nearer than a square and leaves all else as it is',
  }),
  least_finds: z.int().min(2).max(1000).default(5).meta({
    title: 'Least finds',
    description: 'Classes with fewer finds stand in the tables but are not tested',
  }),
  block_m: z.number().positive().nullable().default(null).meta({
    title: 'Side of a square',
    description:
      'Of the squares classes may share, metres; on a site a whole multiple of the grid spacing; none = the squares of the grid, on a plain window tiles of about five finds',
    'x-ogc-unit': 'm',
  }),
  tree_by: z.enum(['robinson_brainerd', 'jaccard']).default('robinson_brainerd').meta({
    title: 'Tree by',
    description: 'Which likeness over squares the cluster tree is made of',
  }),
});
export type Parameters = z.output<typeof parameters>;

const chance = (title: string) => plain(title).nullable();
const matrix = (title: string) => z.array(z.array(plain(title).nullable())).meta({ title });
const numbers = (title: string) => z.array(z.array(plain(title))).meta({ title });

const pValues = {
  p: chance('p: share of dealings as far from chance, either side, the observed one counted in'),
  p_holm: chance('p allowing for all pairs (Holm)'),
  p_bh: chance('p by false discovery rate (Benjamini–Hochberg)'),
};

const likeness = (title: string) =>
  z.strictObject({
    value: chance(title),
    expected: chance('Mean when names are dealt out'),
    ...pValues,
  });

const pair = z.strictObject({
  first: z.string().meta({ title: 'First class' }),
  second: z.string().meta({ title: 'Second class' }),
  n_first: counted('Finds of the first class'),
  n_second: counted('Finds of the second class'),
  reading: z.enum(['together', 'apart', 'cannot tell']).meta({
    title: 'Reading: of a pair asked for by its own p, else allowing for all pairs (Holm)',
  }),
  reason: z.string().nullable().meta({ title: 'Why it cannot be told, or on how little it rests' }),
  strongest_at_m: metres('Distance at which the pair departs most from chance').nullable(),
  ratio: chance('Pairs within that distance over those when names are dealt out: above 1 together, below 1 apart'),
  low: chance('Lower end of the 95 % interval of the ratio'),
  high: chance('Upper end of the 95 % interval of the ratio'),
  ...pValues,
  smallest_seen_below: chance('Ratio below which 4 in 5 such cases would be seen at the 5 % level'),
  smallest_seen_above: chance('Ratio above which 4 in 5 such cases would be seen at the 5 % level'),
  over_draws: z
    .strictObject({ low: plain('Smallest ratio over the redraws'), high: plain('Largest ratio over the redraws') })
    .nullable()
    .meta({ title: 'Ratio with finds known by a square only redrawn inside it' }),
  at: z.array(
    z.strictObject({
      distance_m: metres('Distance'),
      pairs: counted('Pairs of finds within it'),
      k_m2: squareMetres('K between the classes').nullable(),
      expected_m2: squareMetres('K when names are dealt out').nullable(),
      ratio: chance('Ratio of both'),
      low: chance('Lower end of the 95 % interval of the ratio'),
      high: chance('Upper end of the 95 % interval of the ratio'),
      chance_low: chance('Ratio below which 2.5 % of dealings fall'),
      chance_high: chance('Ratio above which 2.5 % of dealings rise'),
      p_together: chance('Share of dealings with as many pairs or more; for this one distance'),
      p_apart: chance('Share of dealings with as few pairs or fewer; for this one distance'),
    }),
  ),
  shared_squares: counted('Squares that hold both'),
  jaccard: likeness('Squares with both over squares with either, 0 to 1'),
  robinson_brainerd: likeness('Robinson–Brainerd over squares: 0 nothing in common, 200 the same shares everywhere'),
});
export type PairRow = z.output<typeof pair>;

const dixon = z.strictObject({
  classes: z.array(z.string()).meta({ title: 'Classes, in alphabetical order' }),
  counts: z.array(counted('Finds')).meta({ title: 'Finds of each class' }),
  table: numbers('Finds of the class of the row whose nearest neighbour is of the class of the column'),
  expected: numbers('Mean of each cell when names are dealt out, find by find'),
  z: matrix('Count less mean, over its standard deviation; none = the cell cannot vary'),
  segregation: matrix('Log odds over those among all other finds; none = never or always'),
  chi2: plain('χ² of the whole table').nullable(),
  df: counted('Degrees of freedom').nullable(),
  p: chance('p of χ² by its law for many finds'),
  p_simulated: chance('Share of dealings, groups whole, with as large a χ²'),
  p_cell: matrix('Two-sided p of z by the normal law'),
  p_cell_simulated: matrix('Share of dealings as far from their mean, either side'),
  p_cell_holm: matrix('The same allowing for all cells (Holm); of p_cell without dealings'),
  p_cell_bh: matrix('The same by false discovery rate (Benjamini–Hochberg)'),
  by_class: z.array(
    z.strictObject({
      artefact_class: z.string().meta({ title: 'Class' }),
      chi2: plain('χ² of its row').nullable(),
      df: counted('Degrees of freedom').nullable(),
      p: chance('p of its row by the law for many finds'),
    }),
  ),
  mutual: counted('R: finds that are the nearest neighbour of their nearest neighbour'),
  sharing: counted('Q: ordered pairs of finds with the same nearest neighbour'),
});

const pielou = z
  .strictObject({
    chi2: plain('χ² of the table taken as counts that do not depend on each other'),
    df: counted('Degrees of freedom'),
    p: plain('p of that χ²; too small, see size_at_5_percent'),
    segregation: plain('1 less observed over expected mixed neighbours').nullable(),
    size_at_5_percent: chance(
      'Measured size: share of dealings find by find over the same neighbours that the test calls patterned at its 5 % level',
    ),
  })
  .nullable();

/** What class-association answers. */
export const result = z.strictObject({
  sentence: z.string().meta({ title: 'The answer in a sentence' }),
  effect_is: z.string().meta({ title: 'What the effect is' }),
  effect: chance('Effect the answer leads with: ratio of pairs to those when names are dealt out'),
  low: chance('Lower end of its 95 % interval'),
  high: chance('Upper end of its 95 % interval'),
  p: chance('Its p'),
  p_holm: chance('Its p allowing for all pairs (Holm)'),
  tests: z.strictObject({
    pairs: counted('Pairs of classes tested by distance'),
    jaccard: counted('Pairs tested by squares in common'),
    robinson_brainerd: counted('Pairs tested by shares over squares'),
    cells: counted('Cells of the neighbour table tested'),
    overall: counted('Tests of the whole table'),
    total: counted('All tests made'),
  }),
  n: counted('Finds used'),
  n_squares: counted('Finds counted by square, those known by a square only among them'),
  class_unknown: counted('Finds of unknown class, left out'),
  window_area_m2: squareMetres('Area of the window'),
  simulations: counted('Dealings of names'),
  distances_m: z.array(metres('Distance')),
  dixon,
  pielou,
  pairs: z.array(pair),
  together: counted('Pairs that lie together, allowing for all pairs'),
  apart: counted('Pairs that lie apart, allowing for all pairs'),
  squares: z.strictObject({
    side_m: metres('Side of a square'),
    with_ground: counted('Squares with dug ground'),
    with_finds: counted('Squares with a find that was counted'),
    by_area: counted('Finds known by a square or area only'),
  }),
  tree: z.strictObject({
    by: z.enum(['robinson_brainerd', 'jaccard']).meta({ title: 'Likeness' }),
    classes: z
      .array(z.string())
      .meta({ title: 'Classes of the tree; joinings count them from 0, and themselves on from there' }),
    order: z.array(z.string()).meta({ title: 'Classes in an order in which no branches cross' }),
    joinings: z.array(
      z.strictObject({
        left: counted('What is joined'),
        right: counted('With what'),
        likeness: plain('Mean likeness between the members of both'),
        members: counted('Classes below'),
      }),
    ),
    cophenetic_correlation: chance('How much of the likenesses the tree keeps; 1 = all'),
  }),
  labelling: z.strictObject({
    rule: z.enum(labellings),
    units: counted('Groups and single finds dealt as wholes'),
    grouped: counted('Finds that move only with their concretion or pot vessel'),
    fixed: counted('Finds that no dealing gives another name'),
    fixed_classes: z.array(z.string()).meta({ title: 'Classes of which no find can get another name' }),
  }),
  tied: counted('Finds with several equally near neighbours'),
  coincident: counted('Finds that share their place with another'),
});
export type Summary = z.output<typeof result>;
