import type { CountedSample } from '../../domain/counted-sample.js';
import type { Sample } from '../../domain/sample.js';
import { generatorName } from '../../math/random.js';
import type { Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly counted: CountedSample;
  readonly simulations: number;
  readonly seed: number;
}

function shown(value: number | null, digits = 3): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

/** What the finds are counted by, in the words of a caption. */
export function tilesText(summary: Pick<Summary, 'tile_width_m' | 'tile_height_m' | 'tiles_with_ground'>): string {
  const { tile_width_m: width, tile_height_m: height } = summary;
  return `${summary.tiles_with_ground} tiles of ${shown(width, 4)} m by ${shown(height, 4)} m`;
}

/** The answer in a sentence: effect, range, p, and what else may lie behind it. */
export function sentenceOf(summary: Omit<Summary, 'sentence'>): string {
  const { n, dispersion, simulated } = summary;
  if (n === 0) return 'No find in the window: nothing to count.';
  if (dispersion === null) return `${n} finds, but fewer than two tiles with ground to compare: cannot tell.`;
  const range = simulated
    ? ` (middle 95 % of random scatters ${shown(simulated.dispersion_low)} to ${shown(simulated.dispersion_high)})`
    : '';
  const clustered = simulated?.p_clustered ?? summary.p_clustered;
  const regular = simulated?.p_regular ?? summary.p_regular;
  const p =
    clustered === null || regular === null
      ? 'no p without simulations'
      : `${simulated ? 'simulated ' : ''}p = ${shown(clustered)} for clustered, ${shown(regular)} for evenly spread`;
  return `Counts of ${n} finds in ${tilesText(summary)} vary ${shown(dispersion)} times as much as chance would have them${range}, ${p}: ${verdict(n, clustered, regular)}.${thicknessText(summary.beyond_thickness)}`;
}

/** What thickness leaves, in a sentence of its own. */
function thicknessText(beyond: Summary['beyond_thickness']): string {
  if (beyond === null) return '';
  const { times_per_step: times, p_two_sided: p, dispersion_before: before, dispersion_after: after } = beyond;
  if (times === null || p === null || after === null) return ` Beyond thickness: cannot tell, ${beyond.reason}.`;
  const step = beyond.term === 'thickness' ? 'for each 0.1 m more of deposit' : 'where the deposit is twice as thick';
  const finding =
    p > 0.05
      ? 'a link with thickness is not told apart from chance'
      : times > 1
        ? 'thicker squares hold more'
        : 'thicker squares hold fewer';
  const left =
    after > 1.5
      ? 'thickness does not account for the unevenness'
      : 'little unevenness is left, so thickness may account for it';
  return ` Finds per m² are ${shown(times)} times as many ${step} (95 % interval ${shown(beyond.times_low)} to ${shown(beyond.times_high)}, p = ${shown(p)}): ${finding}; counts in ${beyond.squares} squares of known thickness vary ${shown(before)} times as much as chance before and ${shown(after)} times after thickness: ${left}.`;
}

function verdict(n: number, clustered: number | null, regular: number | null): string {
  if (clustered === null || regular === null) return 'cannot tell';
  if (clustered <= 0.025)
    return 'unevenly spread; thickness of the deposit, the hull, recovery and pieces of one object do that as well as behaviour does';
  if (regular <= 0.025) return 'more evenly spread than chance; look for finds dealt out by the recorder';
  return n < 30 ? 'cannot tell apart from chance with so few finds' : 'not told apart from chance at this tile size';
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { sample } = context;
  const { simulated, negative_binomial_k: k } = summary;
  const how = sample.grid
    ? `squares of grid ${sample.grid.id}, each find counted in the square the register states, else where it lies by the boundary rule (${sample.grid.boundary_rule})`
    : 'tiles over the bounding box of the window, closed to the west and south, the last ones on all sides';
  const sentences = [
    `${summary.n} finds counted by ${summary.columns} × ${summary.rows} tiles (${how}); ${summary.tiles_with_ground} have ground in the window of ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}), cut exactly.`,
    'Pearson’s χ² against counts in proportion to the ground dug of each tile (area times the share dug), df = tiles with ground less one; dispersion χ² / df, with equal tiles the variance over the mean (Greig-Smith 1952; Hodder & Orton 1976); Morisita’s (1959) index.',
  ];
  if (k) {
    sentences.push(
      'Negative binomial k by maximum likelihood with means in proportion to the ground dug, 95 % interval where twice the log likelihood falls by 3.84 (Bliss & Fisher 1953).',
    );
  }
  sentences.push(
    simulated
      ? `Simulated p: χ² of ${simulated.simulations} scatters of the same finds, each dropped on the dug ground at random with all it counts for (a concretion or pot vessel falls whole), p = (1 + number as extreme) / (${simulated.simulations} + 1) (Besag & Diggle 1977); seed ${context.seed}, generator ${generatorName}, one stream for each simulation.`
      : 'No simulations.',
  );
  const { beyond_thickness: beyond } = summary;
  if (beyond) {
    sentences.push(
      `Beyond thickness: Poisson regression of the counts of ${beyond.squares} squares on ${beyond.term === 'thickness' ? 'thickness' : 'the logarithm of thickness'} with the logarithm of the ground dug as offset, variance in proportion to the mean (Wedderburn 1974); thickness of a square meaned bilinearly from top and bottom levelled in the season that dug it.`,
    );
  }
  if (summary.by_class.length > 1) {
    sentences.push(
      `${summary.tests_made} tests were made: all finds, ${summary.by_class.filter((row) => row.p_two_sided !== null).length} classes${beyond?.p_two_sided == null ? '' : ', thickness'}; p_holm allows for the classes (Holm 1979).`,
    );
  }
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { counted, simulations } = context;
  const { finds, ground } = counted;
  const cautions: string[] = [];
  if (summary.n < 2) {
    cautions.push(`${summary.n === 0 ? 'No find' : 'One find'} in the window: there is no pattern to test.`);
  }
  if (summary.smallest_expected !== null && summary.smallest_expected < 5) {
    cautions.push(
      `Down to ${shown(summary.smallest_expected, 2)} finds are expected in a tile, fewer than 5: the χ² law is rough there; ${simulations > 0 ? 'read the simulated p' : 'ask for simulations'}, or take larger tiles.`,
    );
  }
  if (!summary.equal_tiles && summary.variance_mean_ratio !== null) {
    cautions.push(
      'Tiles have unequal ground: variance over mean and Morisita’s index are printed but mislead; χ² / df allows for the ground.',
    );
  }
  const outside = counted.finds.tile.reduce((sum, t) => sum + (t >= 0 && !(ground.areaM2[t] > 0) ? 1 : 0), 0);
  if (outside > 0) {
    cautions.push(`${outside} finds on an edge fall into tiles without ground: they stand in counts, not in χ².`);
  }
  if (finds.moved > 0) {
    cautions.push(
      `${finds.moved} finds state a square without dug ground and are counted in the square they lie in; look at the register check.`,
    );
  }
  if (finds.lost > 0) cautions.push(`${finds.lost} finds lie in no tile with dug ground and are not counted.`);
  const { by_area: byArea } = summary;
  if (byArea.counted > 0) {
    const draws =
      byArea.straddling === 0
        ? 'each lies in one tile, so nothing is guessed'
        : `${byArea.straddling} reach into several tiles and state none: they count where most of their area lies, and over ${byArea.draws} redraws χ² / df runs from ${shown(byArea.dispersion_low)} to ${shown(byArea.dispersion_high)}`;
    cautions.push(`${byArea.counted} finds known by an area are counted with the others: ${draws}.`);
  }
  if (summary.p_reason !== null && summary.dispersion !== null) {
    cautions.push(`No p from the χ² law: ${summary.p_reason}.`);
  }
  if (summary.beyond_thickness) {
    const { squares_without_thickness: without } = summary.beyond_thickness;
    if (without > 0) {
      cautions.push(`${without} dug squares have no known thickness and stand in no residual beyond thickness.`);
    }
    cautions.push(
      'What goes with thickness is not thereby explained by it: a heap of cargo holds sediment, and a deposit dug deeper gives more. Neighbouring squares are alike, which makes the interval of the thickness trend too narrow.',
    );
  }
  const tested = summary.by_class.filter((row) => row.p_two_sided !== null).length;
  if (tested > 1) {
    cautions.push(
      `${tested} classes are ${tested} tests: at the 5 % level about ${shown(0.05 * tested, 2)} would look patterned by chance alone; p_holm allows for that.`,
    );
  }
  if (summary.block_sizes.length > 1) {
    cautions.push(
      'The curve over block sizes looks at the same finds again and again: it shows at what size they heap, its points are no further tests.',
    );
  }
  return cautions;
}
