import type { Sample } from '../../domain/sample.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { foretell } from './answer.js';
import { proposalsFigure } from './figure.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { squaresLayer, tableOf } from './table.js';
import { cautionsOf, methodsOf, sentenceOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'next-squares',
  title: 'Next squares',
  version: '1',
  summary: 'What would unfinished and planned squares settle, and what should they hold?',
  cautions: [
    'Whether to dig is not for statistics: permit and project design decide; preservation in place is considered first.',
    'A trend foretells what is like the ground dug so far: a cargo heap, a galley or a second wreck beyond the edge is not in it.',
    'Beyond the dug squares a trend rises or falls without end; such squares are flagged, and their numbers are no forecast.',
    'A hull line drawn on straight is a reason to look: frames curve, planks break, and ends may be worn away.',
    'Rates are of what was recovered: mesh, tool and visibility of the seasons dug are in them.',
  ],
  formula:
    'ln μ_i = ln e_i + β0 + β1 d_i + β2 x_i + β3 y_i, e = ground dug (m²), d = distance to the hull, x and y = middle of the square; Var(y) = φ μ, φ = Σ (y − μ)² / μ / (n − p), at least 1. Count on ground g: μ = g exp(η), variance φ μ + μ² (exp(φ v) − 1), v = t′ (X′WX)⁻¹ t; 95 % by the negative binomial law of that mean and variance. Cross-validation: share of left-out counts inside their intervals.',
  sources: [
    'Wedderburn 1974, Biometrika 61, 439–447, doi:10.1093/biomet/61.3.439',
    'McCullagh & Nelder 1989, Generalized Linear Models, 2nd edition, Chapman & Hall, chapter 6',
    'Stone 1974, Journal of the Royal Statistical Society B 36, 111–147, doi:10.1111/j.2517-6161.1974.tb00994.x',
    'Roberts et al. 2017, Ecography 40, 913–929, doi:10.1111/ecog.02881',
    'UNESCO 2001, Convention on the Protection of the Underwater Cultural Heritage, Annex, Rule 1 (preservation in place as first option)',
  ],
  parameters,
  result,
  layers: { features: 'area' },
  squareOnly: 'spread',
  spreadsItself: true,
  withoutEffect: ['draws', 'simulations', 'seed'],
  needsGrid: true,
  access: 'analyst',
  defaultSimulations: 0,
  worked,
  laws: { movedAndTurned: false },
  run: runNextSquares,
});

function runNextSquares(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  const foretold = foretell(sample, own, control);
  const summary: Summary = { sentence: sentenceOf(foretold.summary), ...foretold.summary };
  const context = { sample, own, foretold };
  return {
    summary,
    table: tableOf(summary.squares),
    features: squaresLayer(summary.squares, foretold.plan),
    figure: proposalsFigure(summary, sample, foretold.plan),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}
