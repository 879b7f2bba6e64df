import type { Sample } from '../../domain/sample.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { compareSeasons } from './answer.js';
import { cautionsOf } from './cautions.js';
import { seasonsFigure } from './figure.js';
import { seasonsLayer } from './layer.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { tableOf } from './tables.js';
import { trial } from './trial.js';
import { headlineOf, methodsOf, sentenceOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'season-comparison',
  title: 'Seasons compared',
  version: '1',
  summary:
    'Did one season find more than another, per m² and per m³, and elsewhere, deeper or other things — or did it dig and sieve differently?',
  cautions: [
    'Seasons dig different squares: a difference between seasons is one of place, of recovery and of the wreck at once. Only squares dug in both keep the place.',
    'A square dug twice holds the second time what the first season left.',
    'Mesh, tool, visibility and the eye of the divers change what is found, small things most; strata show it, nothing is corrected.',
    'Dealing squares out takes squares as unrelated; where finds heap over several squares p is too small.',
    'A centre of a season is first of all the centre of what it dug: read it against random scatters in the same ground.',
    'Rates per m³ lean on the levels; where the deposit is thin a centimetre changes them much.',
    'Cannot tell is not no difference.',
  ],
  formula:
    'Rate = count / Σ e (m² times share dug, or m³); interval of a count c: φ χ²(0.025; 2c/φ)/2 to φ χ²(0.975; 2c/φ + 2)/2, φ = max(1, χ² / df over squares) (φ = 1: exact). Ratio: c2 / c1 · e1 / e2, interval from the binomial split of c/φ. Shared squares: φ of the split of each square. p: share of dealings of squares (swaps of seasons within shared squares) with Σ (c − E)² / E as large, observed included. Syrjala: γ = d / Σ d; Ψ = mean over 4 corners of Σ_k (Γ1 − Γ2)²; p over swaps of γ1, γ2 within squares. Centre: distance from the middle of the ground, standard distance, axis ratio and bearing ranked among random scatters. Class mix: χ² = Σ (n − E)² / E; residual (n − E) / √(E (1 − r)(1 − c)). Power: smallest ratio the exact test of so many finds (n/φ) sees with 80 %.',
  sources: [
    'Syrjala 1996, Ecology 77, 75–80, doi:10.2307/2265656',
    'Garwood 1936, Biometrika 28, 437–442, doi:10.1093/biomet/28.3-4.437',
    'Clopper & Pearson 1934, Biometrika 26, 404–413, doi:10.1093/biomet/26.4.404',
    'Wedderburn 1974, Biometrika 61, 439–447, doi:10.1093/biomet/61.3.439',
    'Bliss & Fisher 1953, Biometrics 9, 176–200, doi:10.2307/3001850',
    'Good 2005, Permutation, Parametric and Bootstrap Tests of Hypotheses, 3rd edition, doi:10.1007/b138696',
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
    'Yuill 1971, Geografiska Annaler B 53, 28–39, doi:10.1080/04353684.1971.11879353',
    'Haberman 1973, Biometrics 29, 205–220, doi:10.2307/2529686',
    'Mann & Whitney 1947, Annals of Mathematical Statistics 18, 50–60, doi:10.1214/aoms/1177730491',
    'Holm 1979, Scandinavian Journal of Statistics 6, 65–70',
  ],
  parameters,
  result,
  layers: { features: 'area' },
  squareOnly: 'exclude',
  spreadsItself: false,
  withoutEffect: [],
  needsRegister: true,
  defaultSimulations: 999,
  worked,
  trial,
  laws: { movedAndTurned: true },
  run: runSeasonComparison,
});

function runSeasonComparison(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  control.progress(0, 'counting by season and square');
  const compared = compareSeasons(sample, own, control);
  const { numbers } = compared;
  const summary: Summary = { sentence: sentenceOf(numbers), headline: headlineOf(numbers), ...numbers };
  return {
    summary,
    table: tableOf(compared, own),
    features: seasonsLayer(compared),
    figure: seasonsFigure(summary, sample),
    methods: methodsOf(summary, { sample, compared, seed: control.seed, squareM: own.square_m }),
    cautions: cautionsOf(summary, { sample, compared }),
  };
}
