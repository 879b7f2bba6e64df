import { countSample, presentClasses } from '../../domain/counted-sample.js';
import type { Sample } from '../../domain/sample.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { countFinds, summaryOf } from './answer.js';
import { beyondPart, beyondThickness } from './beyond.js';
import { blockSizes, chooseSquares } from './counting.js';
import { dispersionFigure } from './figure.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { tableOf, tilesLayer } from './table.js';
import { trial } from './trial.js';
import { cautionsOf, methodsOf, sentenceOf } from './words.js';
import { worked } from './worked.js';

/** Finds dropped and tiles summed by one run, all simulations together: some minutes of work. */
const mostSteps = 1e10;

export default defineAnalysis({
  id: 'quadrat-counts',
  title: 'Counts by square',
  version: '1',
  summary: 'Do finds heap in some squares more than chance would have it, at which block size, and by how much?',
  cautions: [
    'Counts by square see nothing inside a square and nothing of how squares lie to one another.',
    'The answer depends on the size of the tile; a k or an index of one size says nothing of another.',
    'On a wreck almost every class is uneven: thickness of the deposit, the hull and recovery do that as well as people did.',
    'Sherds of one jar and children of one concretion count as heaps; count pot vessels or spots instead.',
    'Half-dug squares are held to the share of ground dug, as far as dug_fraction states it.',
  ],
  formula:
    'E_k = n e_k / Σ e, e_k = ground dug of tile k; χ² = Σ (c_k − E_k)² / E_k, df = tiles with ground − 1; dispersion = χ² / df; p two-sided = 2 min(upper, lower). Variance/mean with divisor m − 1; Morisita I = m Σ c (c − 1) / (n (n − 1)). Negative binomial: variance μ + μ² / k, μ_k in proportion to e_k. Simulated: finds dropped with chance e_k / Σ e; p = (1 + #{as extreme}) / (m + 1). Beyond thickness: log μ_k = a + b t_k + log e_k, t thickness or its log, variance φ μ; residual (c_k − μ_k) / √(φ μ_k).',
  sources: [
    'Greig-Smith 1952, Annals of Botany 16, 293–316, doi:10.1093/oxfordjournals.aob.a083317',
    'Morisita 1959, Memoirs of the Faculty of Science, Kyushu University, Series E 2, 215–235',
    'Bliss & Fisher 1953, Biometrics 9, 176–200, doi:10.2307/3001850',
    'Whallon 1973, American Antiquity 38, 266–278, doi:10.2307/279715',
    'Hodder & Orton 1976, Spatial Analysis in Archaeology, Cambridge, chapter 3',
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
    'Wedderburn 1974, Biometrika 61, 439–447, doi:10.1093/biomet/61.3.439',
    'Holm 1979, Scandinavian Journal of Statistics 6, 65–70',
  ],
  parameters,
  result,
  layers: { features: 'area' },
  squareOnly: 'spread',
  spreadsItself: true,
  withoutEffect: [],
  defaultSimulations: 999,
  worked,
  trial,
  laws: { movedAndTurned: true },
  run: runQuadratCounts,
});

function runQuadratCounts(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  control.progress(0, 'counting by square');
  const counted = countSample(sample, (local, box) => chooseSquares(local, own, box));
  const n = sample.xy.length / 2 + sample.areas.length;
  const steps = control.simulations * (2 * n + 3 * counted.ground.areaM2.length * (1 + sample.classes.length));
  if (steps > mostSteps) {
    throw new Problem(
      'too-much-work',
      `${control.simulations} simulations of ${n} finds in ${counted.ground.areaM2.length} tiles are too many for one run; at most ${Math.floor((control.simulations * mostSteps) / steps)} fit`,
      { simulations: control.simulations, n },
    );
  }
  const part = (from: number, to: number): RunControl => ({
    ...control,
    progress: (share, doing) => control.progress(from + (to - from) * share, doing),
  });
  const all = countFinds(counted, blockSizes(counted), { classCode: null, control: part(0, 0.5) });
  const codes = presentClasses(sample);
  const classes =
    codes.length < 2
      ? []
      : codes.map((classCode, i) => ({
          name: classCode === 0 ? null : sample.classes[classCode - 1],
          found: countFinds(counted, blockSizes(counted), {
            classCode,
            control: part(0.5 + (0.5 * i) / codes.length, 0.5 + (0.5 * (i + 1)) / codes.length),
          }),
        }));
  const beyond = beyondThickness(counted, all, own);
  const numbers = {
    ...summaryOf(counted, all, classes, control),
    beyond_thickness: beyondPart(counted, all, beyond),
  };
  numbers.tests_made += numbers.beyond_thickness?.p_two_sided == null ? 0 : 1;
  const summary: Summary = { sentence: sentenceOf(numbers), ...numbers };
  const context = { sample, counted, simulations: control.simulations, seed: control.seed };
  return {
    summary,
    table: tableOf(counted, all, beyond),
    features: tilesLayer(counted, all, beyond),
    figure: dispersionFigure(summary, sample),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}
