import type { Sample } from '../../domain/sample.js';
import { median } from '../../math/quantiles.js';
import { generatorName } from '../../math/random.js';
import type { Parameters, Summary } from './schemas.js';
import type { Sides } from './sides.js';
import { leastDealings, toleranceLevel } from './tolerance.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly sides: Sides;
  readonly seed: number;
}

/** fewer finds of a side than this: a quiet test says nothing */
const fewFinds = 15;

const shown = (value: number, digits = 3): string => String(Number(value.toPrecision(digits)));

/** Ratios as people say them. */
function times(ratio: number): string {
  if (ratio >= 999) return 'a thousand times or more';
  if (ratio <= 1 / 999) return 'a thousandth or less';
  return `${shown(ratio, 2)} times`;
}

/** The answer in one sentence: effect, what chance gives, p, and what it does not say. */
export function readingOf(summary: Omit<Summary, 'reading'>): string {
  const { highest, lowest, global, numerator, denominator } = summary;
  const counts = `${summary.n_numerator_shared} finds of ${numerator} and ${summary.n_denominator_shared} of ${denominator}`;
  if (highest === null || lowest === null) {
    return `Cannot tell: nowhere on the ground compared is the denominator (${denominator}) thick enough for a ratio; ${counts}.`;
  }
  const chance =
    highest.dealt_low === null || highest.dealt_high === null
      ? ''
      : ` (random labelling gives ${shown(highest.dealt_low, 2)} to ${shown(highest.dealt_high, 2)} there)`;
  const effect = `relative to their numbers ${numerator} lies up to ${times(highest.ratio)} as thick as ${denominator}${chance} and down to ${times(lowest.ratio)}`;
  if (global === null) {
    const why = summary.simulations === 0 ? 'without simulations' : 'because no dealing changes the names';
    return `No test was made ${why}: ${effect}; ${counts}.`;
  }
  const p = `p = ${shown(global.p)} for the whole surface`;
  const smaller = Math.min(summary.n_numerator_shared, summary.n_denominator_shared);
  if (global.p <= 0.05) {
    const areas = summary.pointwise;
    const marked = areas
      ? `; pointwise thicker than chance on ${shown(areas.higher_area_m2)} m², thinner on ${shown(areas.lower_area_m2)} m²`
      : '';
    return `${numerator} and ${denominator} do not lie alike: ${effect}; ${p}; ${counts}${marked}.`;
  }
  if (smaller < fewFinds || summary.simulations < leastDealings) {
    const why = smaller < fewFinds ? `with ${smaller} finds on one side` : `with ${summary.simulations} simulations`;
    return `Cannot tell: ${why} only the strongest contrast would be seen; ${effect}; ${p}; ${counts}.`;
  }
  return `No difference was seen between where ${numerator} and ${denominator} lie, which does not show there is none: ${effect}; ${p}; ${counts}.`;
}

const ruleWords: Readonly<Record<Summary['bandwidth_rule'], string>> = {
  metres: 'as given',
  scott:
    "by Scott's rule on all finds pooled, with the geometric mean of both numbers of finds (Scott 1992, doi:10.1002/9780470316849; Davies, Marshall & Hazelton 2018, doi:10.1002/sim.7577)",
  lcv: 'by likelihood cross-validation of all finds pooled (Loader 1999)',
  lscv: 'by least-squares cross-validation of all finds pooled (Rudemo 1982; Bowman 1984)',
};

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, { sample, own, seed }: Context): string {
  const sentences = [
    `Log ratio of the densities of ${summary.numerator} (${summary.n_numerator} finds) and ${summary.denominator} (${summary.n_denominator}) (Bithell 1990; Kelsall & Diggle 1995, doi:10.1002/sim.4780142106): Gaussian kernels of ${shown(summary.bandwidth_m, 4)} m for both, ${ruleWords[summary.bandwidth_rule]}; each density divided at the place by the share of the kernel inside the ground its side was looked for in, and by its weight on the ground compared.`,
    `Window: ${sample.windowSource}, ${shown(summary.window_area_m2, 6)} m²; compared: ${shown(summary.shared_area_m2, 6)} m²${own.by === 'season' ? ' dug by both sides, each density from all its finds on its own dug ground' : ''}.`,
    `No value where the denominator is below ${shown(summary.floor_per_m2)} per m² before edge correction: fewer than ${shown(summary.floor_finds)} finds of the smaller side would be expected under the kernel there. Ratios beyond 1000 : 1 are held there.`,
  ];
  if (summary.global) {
    sentences.push(
      `Random labelling: the names of the sides were dealt out anew ${summary.simulations} times over places that stay${own.by === 'season' ? ', only on the ground both dug' : ''}, finds of one concretion or pot vessel together (${summary.labelling.units} units); every kernel was laid down once on ${summary.test_places} places ${shown(summary.test_step_m)} m apart.`,
      `One test of the whole surface: the integrated squared log ratio with half a find of the smaller side added to both, so that ground with hardly a find does not drown the rest; p = (1 + number as large) / (${summary.simulations} + 1) (Besag & Diggle 1977, doi:10.2307/2346974). Tolerance contours (Hazelton & Davies 2009, doi:10.1002/bimj.200810495) at rank p ${toleranceLevel} on either side hold for one place chosen beforehand: pointwise. Seed ${seed}, generator ${generatorName}, one stream for each dealing.`,
    );
  } else sentences.push('No test was made.');
  if (sample.weight.some((w) => w !== 1)) {
    sentences.push(
      'Each find counts with its weight (pieces or grams, as chosen); the floor counts finds of average weight.',
    );
  }
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, { sample, own, sides }: Context): string[] {
  const out: string[] = [];
  const { labelling, pointwise } = summary;
  if (pointwise) {
    out.push(
      `Tolerance areas are pointwise: names dealt at random would mark about ${shown(pointwise.expected_area_m2)} m² of this ground, and neighbouring places go together. The one test is that of the whole surface.`,
    );
  } else if (summary.simulations > 0 && summary.simulations < leastDealings) {
    out.push(`Tolerance areas need at least ${leastDealings} simulations; ${summary.simulations} were asked for.`);
  }
  out.push(
    own.by === 'class'
      ? 'A ratio says where a class is thick compared with the other finds, not where it is thick; it may be the others that are few.'
      : 'Seasons differ by place dug, tool, sieve and care: a contrast on shared ground can be recovery. What an earlier season lifted is not there for a later one.',
  );
  const smaller = Math.min(summary.n_numerator_shared, summary.n_denominator_shared);
  if (smaller < fewFinds) out.push(`Only ${smaller} finds on one side: the ratio rests on few kernels.`);
  if (summary.masked_area_m2 > 0.005 * summary.shared_area_m2) {
    out.push(
      `${shown(summary.masked_area_m2)} of ${shown(summary.shared_area_m2)} m² have no value: the denominator (${summary.denominator}) is too thin there for ${shown(summary.floor_finds)} ${summary.floor_finds === 1 ? 'find' : 'finds'} of the smaller side to be expected.`,
    );
  }
  if (labelling.fixed > 0) {
    out.push(
      `${labelling.fixed} of ${summary.n} finds keep their name in every dealing (${own.by === 'season' ? 'beside the shared ground, or ' : ''}in concretions or pot vessels that find no group of their size with another name): the test rests on the others.`,
    );
  }
  if (own.by === 'season') out.push(...seasonCautions(summary, sample, sides));
  const sigma = median(sample.sigmaXy.filter((s) => !Number.isNaN(s)));
  if (sigma !== null && summary.bandwidth_m < 3 * sigma) {
    out.push(
      `The bandwidth of ${shown(summary.bandwidth_m)} m is below three times the middle position error (${shown(sigma)} m): smaller contrasts are noise of the survey.`,
    );
  }
  if (summary.bandwidth_at_boundary) {
    out.push(
      `The rule ${summary.bandwidth_rule} found no best bandwidth in its range and stopped at its end, ${shown(summary.bandwidth_m)} m.`,
    );
  }
  const classes = new Set(sample.classCode).size;
  if (own.by === 'class' && classes > 2) {
    out.push(
      `${classes} classes were there to ask about: of that many tests about ${shown(0.05 * classes, 2)} give p below 0.05 by chance alone. Name the class beforehand, or raise p.`,
    );
  }
  return out;
}

function seasonCautions(summary: Summary, sample: Sample, sides: Sides): string[] {
  const out: string[] = [];
  if (!sides.ownWindows) {
    out.push('The dug area does not say which season dug what: both seasons are taken to have dug all of the window.');
  }
  if (summary.outside_own_ground > 0) {
    out.push(`${summary.outside_own_ground} finds lie outside the ground their own season dug and are left out.`);
  }
  const asked = new Set([...summary.numerator.split(', '), ...summary.denominator.split(', ')]);
  if (sample.dug.some((area) => asked.has(area.season) && area.dugFraction < 1)) {
    out.push('Some of this ground was dug in part only: its density is too low for that season.');
  }
  return out;
}
