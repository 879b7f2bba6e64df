import type { Sample } from '../../domain/sample.js';
import { median } from '../../math/quantiles.js';
import { generatorName } from '../../math/random.js';
import type { Ground } from './ground.js';
import type { LabellingRule, PairRow, Parameters, Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly ground: Ground;
  readonly own: Parameters;
  readonly seed: number;
  readonly draws: number;
}

type Headline = Pick<Summary, 'sentence' | 'effect_is' | 'effect' | 'low' | 'high' | 'p' | 'p_holm'>;
type Measured = Omit<Summary, keyof Headline>;

/** A number as a reader wants it: about three digits. */
function shown(value: number | null, digits = 3): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

const times = (ratio: number) => ratio.toFixed(2);
const interval = ({ low, high }: { low: number | null; high: number | null }) =>
  low === null || high === null ? '' : ` (${times(low)} to ${times(high)})`;

const alternatives = {
  together:
    'they may have been stowed or used together, spilled the same way, or been caught and recovered alike by the same ground',
  apart:
    'they may have been kept apart on board, sorted by weight and current, preserved in different ground, or recovered differently',
} as const;

/** The answer: of the pair asked for, else of the strongest pair. */
export function headline(measured: Measured, { own }: Pick<Context, 'own'>): Headline {
  const { pairs } = measured;
  // where there is only one pair nothing was picked out
  const asked = pairs.length === 1 ? pairs[0] : pairs.find((row) => own.first !== null && isPair(row, own));
  const lead = asked ?? strongest(pairs);
  const none = { effect_is: 'ratio of near pairs', effect: null, low: null, high: null, p: null, p_holm: null };
  if (!lead) {
    const why = measured.n === 0 ? 'no find of known class' : 'only one class';
    return { ...none, sentence: `Cannot tell: there is ${why}, so nothing to compare.` };
  }
  const at = lead.strongest_at_m === null ? '' : ` within ${shown(lead.strongest_at_m)} m`;
  return {
    effect_is: `pairs of ${lead.first} and ${lead.second}${at}, over those when names are dealt out`,
    effect: lead.ratio,
    low: lead.low,
    high: lead.high,
    p: lead.p,
    p_holm: lead.p_holm,
    sentence: asked ? askedSentence(asked, measured) : strongestSentence(lead, measured),
  };
}

const isPair = (row: PairRow, { first, second }: Parameters) =>
  (row.first === first && row.second === second) || (row.first === second && row.second === first);

/** Farther from chance first: by p for all pairs, then by how far the ratio lies from what chance reaches. */
function strongest(pairs: readonly PairRow[]): PairRow | undefined {
  const reach = (row: PairRow) => {
    const at = row.at.find((place) => place.distance_m === row.strongest_at_m);
    if (!at || at.ratio === null || at.chance_low === null || at.chance_high === null) return -1;
    const side = at.ratio < 1 ? 1 - at.chance_low : at.chance_high - 1;
    return side > 0 ? Math.abs(at.ratio - 1) / side : -1;
  };
  return [...pairs].sort((a, b) => (a.p_holm ?? 2) - (b.p_holm ?? 2) || reach(b) - reach(a))[0];
}

/** Effect, interval, p of one pair. */
function numbersOf(row: PairRow): string {
  const at = row.strongest_at_m === null ? '' : `within ${shown(row.strongest_at_m)} m `;
  const p = row.p === null ? 'no p' : `p = ${shown(row.p)}`;
  return row.ratio === null
    ? `no ratio, ${p}`
    : `${at}${times(row.ratio)} times as many pairs as when names are dealt out${interval(row)}, ${p}`;
}

function askedSentence(row: PairRow, measured: Measured): string {
  const names = `${row.first} and ${row.second}`;
  const finds = `${row.n_first} and ${row.n_second} finds`;
  if (row.reading === 'cannot tell') {
    return `Cannot tell whether ${names} lie together or apart: ${numbersOf(row)}, ${finds}; ${row.reason}${missed(row)}.`;
  }
  const others = measured.tests.pairs - 1;
  const allowed =
    others > 0 && row.p_holm !== null
      ? ` Had it been picked out of all ${measured.tests.pairs} pairs, p would be ${shown(row.p_holm)} (Holm).`
      : '';
  const rests = row.reason === null ? '' : ` (${row.reason})`;
  return `${names} lie ${row.reading}: ${numbersOf(row)}, ${finds}${rests}; ${alternatives[row.reading]}.${allowed}`;
}

function missed(row: PairRow): string {
  if (row.smallest_seen_above === null) return '';
  const below =
    row.smallest_seen_below === null ? 'no ratio below 1' : `a ratio below ${times(row.smallest_seen_below)}`;
  return `; ${below} and one above ${times(row.smallest_seen_above)} would be seen four times in five`;
}

function strongestSentence(row: PairRow, measured: Measured): string {
  const { tests, together, apart, n } = measured;
  if (tests.pairs === 0) {
    return `Cannot tell: no pair of classes could be tested; ${row.first} and ${row.second}: ${row.reason}.`;
  }
  const allowed = row.p_holm === null ? '' : `, ${shown(row.p_holm)} allowing for all ${tests.pairs} pairs (Holm)`;
  if (row.reading === 'cannot tell' && isTooCoarse(measured)) {
    return `Cannot tell: ${measured.simulations} dealings are too few to allow for ${tests.pairs} pairs, ask for at least ${20 * tests.pairs} simulations; farthest from chance are ${row.first} and ${row.second}, ${numbersOf(row)}${allowed}.`;
  }
  if (row.reading === 'cannot tell') {
    return `Cannot tell: no pair of classes stands after allowing for all ${tests.pairs}; farthest from chance are ${row.first} and ${row.second}, ${numbersOf(row)}${allowed}${missed(row)}.`;
  }
  return `Of ${tests.pairs} pairs of classes (${n} finds) ${together} lie together and ${apart} apart; strongest, ${row.first} and ${row.second} lie ${row.reading}: ${numbersOf(row)}${allowed}; ${alternatives[row.reading]}.`;
}

/** So few dealings that not even the smallest p stands after allowing for all pairs. */
const isTooCoarse = ({ simulations, tests }: Measured) => 20 * tests.pairs > simulations + 1;

const ruleWords: Record<LabellingRule, string> = {
  everywhere: 'over all finds',
  within_seasons: 'among the finds of each season',
  within_squares: 'among the finds of each square',
};

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, { sample, ground, own, seed }: Context): string {
  const { dixon, labelling } = summary;
  const edge = own.edge === 'translation' ? 'with translation weights (Ohser 1983)' : 'without edge correction';
  const sentences = [
    `Association of ${dixon.classes.length} classes, ${summary.n} finds in a window of ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}).`,
    `Nearest-neighbour table of all classes with exact means, variances and covariances under random labelling (Dixon 1994, 2002; R = ${dixon.mutual}, Q = ${dixon.sharing}); of equally near neighbours the lowest row of the file. Pielou’s (1961) χ² beside it.`,
    `K between classes (Lotwick & Silverman 1982) at ${summary.distances_m.map((d) => shown(d)).join(', ')} m ${edge}; d ≤ r counts.`,
    `Shares of squares of ${shown(summary.squares.side_m)} m (${sample.grid ? `the square the register states, else where the find lies by the boundary rule of grid ${sample.grid.id}` : 'tiles from the lower-left corner of the window'}): Jaccard (1901) and Robinson & Brainerd (1951); tree by average linkage on ${own.tree_by === 'jaccard' ? 'Jaccard' : 'Robinson–Brainerd'} (Sokal & Michener 1958).`,
    summary.simulations > 0
      ? `Names were dealt out ${summary.simulations} times ${ruleWords[labelling.rule]}, places staying; concretions and pot vessels keep together, their names going to a group of the same size. p of a pair: largest deviation over the distances, scaled on each side by the spread of chance there (after Myllymäki et al. 2015), p = (1 + number as large) / (${summary.simulations} + 1) (Besag & Diggle 1977). Intervals: marked point bootstrap (Loh 2008) of ${Math.min(summary.simulations, 999)} resamplings of blocks twice the largest distance wide. Seed ${seed}, generator ${generatorName}, one stream for each dealing.`
      : 'No names were dealt out: neither p of pairs nor intervals.',
    `${summary.tests.total} tests were made: ${summary.tests.pairs} pairs by distance, ${summary.tests.jaccard} and ${summary.tests.robinson_brainerd} by squares, ${summary.tests.cells} cells, ${summary.tests.overall} of the whole table; each family is raised after Holm (1979) and Benjamini & Hochberg (1995).`,
  ];
  if (ground.areas.length > 0) {
    sentences.push(
      `${ground.areas.length} finds known by a square or area only are counted in the squares and not in distances.`,
    );
  }
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { sample, ground, own } = context;
  const { tests, labelling, pielou } = summary;
  const out: string[] = [];
  if (tests.total > 1) {
    out.push(
      `${tests.total} tests were made (${tests.pairs} pairs by distance, ${tests.jaccard + tests.robinson_brainerd} by squares, ${tests.cells} cells, ${tests.overall} of the whole table): at the 5 % level about ${shown(0.05 * tests.total, 2)} would look patterned by chance alone; read p_holm, or name a pair beforehand with first and second.`,
    );
  }
  const smallest = 1 / (summary.simulations + 1);
  if (summary.simulations > 0 && isTooCoarse(summary)) {
    out.push(
      `With ${summary.simulations} dealings p cannot fall below ${shown(smallest, 2)}, nor p_holm of ${tests.pairs} pairs below ${shown(Math.min(1, tests.pairs * smallest), 2)}: ask for at least ${20 * tests.pairs} simulations.`,
    );
  } else if (summary.simulations > 0 && tests.cells * smallest > 0.05) {
    out.push(
      `With ${summary.simulations} dealings p of the ${tests.cells} cells cannot stand after Holm; read p_cell_bh, or ask for at least ${20 * tests.cells} simulations.`,
    );
  }
  if (pielou?.size_at_5_percent != null) {
    out.push(
      `Pielou’s test takes mutual neighbours for independent ones: at its 5 % level it calls these finds patterned in ${shown(100 * pielou.size_at_5_percent, 2)} % of cases with names dealt out find by find; quote Dixon’s.`,
    );
  }
  const rests = summary.pairs.filter((row) => row.reading !== 'cannot tell' && row.reason !== null).length;
  if (rests > 0) {
    out.push(
      `Of the pairs that lie together or apart, ${rests} have an interval that holds 1, or none: names are not dealt at random there, but that rests on a few patches of ground, and another dig might show otherwise.`,
    );
  }
  const small = summary.dixon.classes.filter((_, k) => summary.dixon.counts[k] < own.least_finds);
  if (small.length > 0) {
    out.push(`Cannot tell for ${small.join(', ')}: fewer than ${own.least_finds} finds with a place; not tested.`);
  }
  if (labelling.grouped > 0) {
    out.push(
      `${labelling.grouped} finds move only with their concretion or pot vessel. z, χ² and p of Dixon’s law take each find as labelled by itself and are too sure of themselves here; the p of dealings allow for it.`,
    );
  }
  if (labelling.fixed_classes.length > 0) {
    out.push(
      `No dealing moves ${labelling.fixed_classes.join(', ')}: pairs with them are tested by moving the other class about them.`,
    );
  } else if (labelling.fixed > 0) {
    out.push(`${labelling.fixed} finds keep their class in every dealing, which weakens the tests.`);
  }
  if (summary.tied > 0) {
    out.push(
      `${summary.tied} finds have several equally near neighbours; the lowest row of the file was taken, so the table depends on its order.`,
    );
  }
  if (summary.coincident > 0) {
    out.push(
      `${summary.coincident} finds share their place with another: pieces of one object, rounded coordinates or a double entry make neighbours by themselves.`,
    );
  }
  if (summary.class_unknown > 0) out.push(`${summary.class_unknown} finds of unknown class were left out.`);
  out.push(...placeCautions(summary, context));
  if (ground.counted.finds.lost > 0) {
    out.push(`${ground.counted.finds.lost} finds lie in no square with dug ground and are not counted by square.`);
  }
  const seasons = new Set(ground.members.map((i) => sample.seasonCode[i])).size;
  if (seasons > 1 && own.labelling === 'everywhere') {
    out.push(
      'Seasons dug and sieved differently: classes of one season lie together by that alone; labelling = within_seasons allows for it.',
    );
  }
  return out;
}

function placeCautions(summary: Summary, { sample, ground, draws }: Context): string[] {
  const out: string[] = [];
  const sigma = median(sample.sigmaXy.filter((s) => !Number.isNaN(s)));
  if (sigma !== null && sigma > 0) {
    const near = summary.distances_m.filter((d) => d < 3 * sigma);
    if (near.length > 0) {
      out.push(
        `The middle position error is ${shown(sigma, 2)} m: nothing can be claimed below two to three times that; ${near.map((d) => shown(d)).join(', ')} m lie there.`,
      );
    }
  }
  if (ground.areas.length > 0) {
    out.push(
      `${ground.areas.length} finds known by a square or area only are counted in their square, not in distances; over_draws holds the ratios of ${draws} redraws inside it. Spreading pulls ratios towards 1, so the range need not hold the truth.`,
    );
  }
  return out;
}
