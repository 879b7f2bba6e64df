import type { Sample } from '../../domain/sample.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { accumulationCurve } from './accumulation-curve.js';
import { summaryOf } from './answer.js';
import { classBook } from './book.js';
import { disturbedGround, disturbedPart } from './disturbed.js';
import { accumulationFigure } from './figure.js';
import { squaresLayer } from './layer.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { tableOf } from './tables.js';
import { cautionsOf, methodsOf, sentenceOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'class-table',
  title: 'Classes by season and square',
  version: '1',
  summary:
    'What was found, of which class, in which season and square, with zeros where nothing was, and at what rate?',
  cautions: [
    'Counts of seasons compare recovery as well as the wreck: ground, thickness, tool and mesh differ.',
    'A rate per m³ leans on the thickness of the square; where it is thin, a centimetre of level changes it much.',
    'Exact intervals take finds for independent; sherds of one jar are not.',
    'The number of classes grows with whoever identifies: a find not yet cleaned is no new class.',
    'A minimum number of pot vessels by square does not add up: one jar may lie in several.',
  ],
  formula:
    'rate = count / ground dug (m² times share dug), count / m³ of deposit; interval of a count c: χ²(0.025; 2c)/2 to χ²(0.975; 2c + 2)/2. Dispersion χ² / df over squares. Accumulation: S(h) = Σ_c [1 − C(s − s_c, h) / C(s, h)], s squares, s_c with class c; Chao: S + (s − 1)/s · q1 (q1 − 1) / (2 (q2 + 1)), q1 and q2 classes in one and two squares.',
  sources: [
    'Garwood 1936, Biometrika 28, 437–442, doi:10.1093/biomet/28.3-4.437',
    'Ugland, Gray & Ellingsen 2003, Journal of Animal Ecology 72, 888–897, doi:10.1046/j.1365-2656.2003.00748.x',
    'Chao 1987, Biometrics 43, 783–791, doi:10.2307/2531532',
    'Clopper & Pearson 1934, Biometrika 26, 404–413, doi:10.1093/biomet/26.4.404 (rate ratios)',
    'Orton, Tyers & Vince 1993, Pottery in Archaeology, Cambridge (pot vessels and rim equivalents)',
  ],
  parameters,
  result,
  layers: { features: 'area' },
  squareOnly: 'spread',
  spreadsItself: true,
  withoutEffect: ['count_unit', 'spot', 'square_only', 'draws', 'simulations'],
  needsRegister: true,
  comparedWith: ({ compare_version: version, compare_identified_as_of: identifiedAsOf }) =>
    version === null && identifiedAsOf === null ? null : { version, identifiedAsOf },
  defaultSimulations: 0,
  worked,
  laws: { movedAndTurned: true },
  run: runClassTable,
});

function runClassTable(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  control.progress(0, 'counting by class, season and square');
  const book = classBook(sample, own);
  const disturbed = disturbedGround(book, own);
  const part = disturbedPart(book, disturbed);
  const tests = part === null ? [] : [part.all, ...part.by_class].filter((row) => row.p_two_sided !== null);
  const numbers = {
    ...summaryOf(book, own),
    disturbed: part,
    tests_made: tests.length,
    accumulation: accumulationCurve(book, {
      count: own.sequences,
      seed: control.seed,
      progress: (share) => control.progress(0.3 + 0.6 * share, 'taking squares in random sequence'),
    }),
  };
  const summary: Summary = { sentence: sentenceOf(numbers), ...numbers };
  return {
    summary,
    table: tableOf(book, own, { disturbed, part }),
    features: squaresLayer(book, own.rate_of),
    figure: accumulationFigure(summary, sample, own),
    methods: methodsOf(summary, { sample, own, seed: control.seed }),
    cautions: cautionsOf(summary, book),
  };
}
