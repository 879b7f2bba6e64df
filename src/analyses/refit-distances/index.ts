import type { Sample } from '../../domain/sample.js';
import { bearingOf, circularSummary } from '../../math/circular.js';
import { holm } from '../../math/holm.js';
import { rankProbability } from '../../math/monte-carlo.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { figureOf } from './figure.js';
import { type GatheredJoins, gatherJoins } from './joined.js';
import {
  type DistanceSummary,
  joinDistances,
  type Reallocated,
  reallocate,
  resultant,
  summariseDistances,
} from './reallocation.js';
import { areasPart } from './scatter-areas.js';
import { type Distances, type Parameters, parameters, result, type Summary } from './schemas.js';
import { joinsLayer, tableOf } from './table.js';
import { trial } from './trial.js';
import { cautionsOf, headline, methodsOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'refit-distances',
  title: 'Distances of joins',
  version: '1',
  summary: 'How far did the sherds of one pot travel, and which way?',
  cautions: [
    'Joins are found where people look for them: sherds stored together are tried first, so short joins are over-counted.',
    'Sherds beyond the dug area are not known: long joins are cut short by its edge.',
    'A join says that two finds came apart, not which of them moved.',
    'A pot in many sherds gives many joins; every pot counts once.',
  ],
  formula:
    'd̄ = mean over units (pot vessels, else groups of joined finds) of the mean distance of their joins; held against d̄ when finds trade places within their class (or pot), joins kept; p = (1 + #{as extreme}) / (m + 1), two-sided twice the smaller; interval from units drawn anew. Bearings: Rbar of the doubled bearings against the same reallocations. Areas: joins between two areas against the same trading of places; class mix χ² = Σ (n − e)² / e, class names dealt anew, V = √(χ² / (n (min(rows, columns) − 1))).',
  sources: [
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
    'Phipson & Smyth 2010, Statistical Applications in Genetics and Molecular Biology 9, 39, doi:10.2202/1544-6115.1585',
    'Mardia & Jupp 2000, Directional Statistics, doi:10.1002/9780470316979',
    'Orton, Tyers & Vince 1993, Pottery in Archaeology, Cambridge',
    'Schiffer 1987, Formation Processes of the Archaeological Record',
  ],
  parameters,
  result,
  layers: { features: 'line' },
  squareOnly: 'exclude',
  spreadsItself: true,
  withoutEffect: ['square_only', 'draws'],
  defaultSimulations: 999,
  worked,
  trial,
  laws: { movedAndTurned: true },
  run: runRefitDistances,
});

/** Places dealt in one run, all simulations together: some minutes of work. */
const mostPlaced = 4e9;
/** distances kept for the drawing */
const mostKept = 2e7;

function runRefitDistances(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  const gathered = gatherJoins(sample, own);
  const { finds } = gathered;
  const joins = finds.a.length;
  const simulations = joins === 0 ? 0 : control.simulations;
  const traded = finds.circles.reduce((sum, circle) => sum + circle.length, 0);
  if (simulations * traded > mostPlaced || simulations * joins > mostKept) {
    const fits = Math.floor(Math.min(mostPlaced / traded, mostKept / joins));
    throw new Problem(
      'too-much-work',
      `${simulations} reallocations of ${joins} joins are too many for one run; at most ${fits} fit`,
      { simulations, joins },
    );
  }
  const observed = joinDistances(finds);
  const reallocated = reallocate(finds, {
    count: simulations,
    seed: control.seed,
    kind: own.bearing === 'axial' ? 'axial' : 'directed',
    progress: (share) => control.progress((own.areas === 'none' ? 1 : 0.8) * share, 'letting finds trade places'),
  });
  const summarise = (chosen: readonly number[]) =>
    inSnakeCase(summariseDistances(finds, { observed, reallocated, chosen, simulations, seed: control.seed }));
  const all = Array.from(finds.a.keys());
  const measured = {
    n: sample.xy.length / 2,
    window_area_m2: sample.windowAreaM2,
    distances: summarise(all),
    bearings: bearingsOf(gathered, reallocated, own),
    by_class: classRows(sample, gathered, summarise),
    between_classes: gathered.classCode.filter((code) => code < 0).length,
    areas: areasPart(
      sample,
      { finds, gathered },
      {
        own,
        simulations: control.simulations,
        seed: control.seed,
        progress: (share) => control.progress(0.8 + 0.2 * share, 'comparing areas'),
      },
    ),
    across_areas: gathered.acrossAreas,
    same_place: gathered.samePlace,
  };
  const summary: Summary = { ...headline(measured, own), ...measured };
  const context = { sample, own, simulations, seed: control.seed, withoutWeights: gathered.withoutWeights };
  return {
    summary,
    table: tableOf(summary),
    features: joinsLayer(sample, gathered),
    figure: figureOf(summary, { sample, own, gathered, observed, reallocated }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}

function inSnakeCase(of: DistanceSummary): Distances {
  return {
    joins: of.joins,
    units: of.units,
    mean_m: of.meanM,
    low_m: of.meanEnds?.low ?? null,
    high_m: of.meanEnds?.high ?? null,
    median_m: of.medianM,
    greatest_m: of.greatestM,
    expected_m: of.expectedM,
    expected_low_m: of.expectedEnds?.low ?? null,
    expected_high_m: of.expectedEnds?.high ?? null,
    difference_m: of.meanM === null || of.expectedM === null ? null : of.meanM - of.expectedM,
    p_two_sided: of.p?.twoSided ?? null,
    p_closer: of.p?.lower ?? null,
    p_farther: of.p?.upper ?? null,
  };
}

/** Rows for the classes whose finds join among themselves; none when there is only one. */
function classRows(
  sample: Sample,
  { classCode }: GatheredJoins,
  summarise: (chosen: readonly number[]) => Distances,
): Summary['by_class'] {
  const last = sample.classes.length + 1;
  const present = [...new Set(classCode)].filter((code) => code >= 0).sort((a, b) => (a || last) - (b || last));
  if (present.length < 2) return [];
  const rows = present.map((code) => ({
    artefact_class: code === 0 ? null : sample.classes[code - 1],
    ...summarise(Array.from(classCode.keys()).filter((k) => classCode[k] === code)),
  }));
  const raised = holm(rows.map((row) => row.p_two_sided));
  return rows.map((row, k) => ({ ...row, p_holm: raised[k] }));
}

function bearingsOf({ finds }: GatheredJoins, reallocated: Reallocated, own: Parameters): Summary['bearings'] {
  const kind = own.bearing === 'axial' ? 'axial' : 'directed';
  const { xy, a, b } = finds;
  const bearings = Array.from(finds.withBearing).flatMap((k) => {
    const dx = xy[2 * b[k]] - xy[2 * a[k]];
    const dy = xy[2 * b[k] + 1] - xy[2 * a[k] + 1];
    return dx === 0 && dy === 0 ? [] : [bearingOf(dx, dy)];
  });
  if (bearings.length === 0) return null;
  const summary = circularSummary(bearings, kind);
  const still = Array.from({ length: xy.length / 2 }, (_, i) => i);
  const rBar = resultant(finds, still, kind);
  const simulated = reallocated.rBar;
  return {
    joins: bearings.length,
    axial: kind === 'axial',
    mean_deg: summary.meanDeg,
    error_deg: summary.meanErrorDeg,
    rbar: rBar,
    expected_rbar: simulated.length === 0 ? null : simulated.reduce((sum, v) => sum + v, 0) / simulated.length,
    p: simulated.length === 0 ? null : rankProbability(rBar, simulated).upper,
  };
}
