import { presentClasses } from '../../domain/counted-sample.js';
import type { Sample } from '../../domain/sample.js';
import { holm } from '../../math/false-discovery.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { type Breakage, breakageOf } from './breakage.js';
import { squaresFigure } from './figure.js';
import { latticeCounts, type SquareLattice, squareLattice } from './lattice.js';
import { type Likeness, likeness, type TestedStatistic, testedMoran } from './likeness.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { isBreakage, type Sherds, sherdsBySquare } from './sherds.js';
import { squareValues } from './square-values.js';
import { type SquareRows, squaresLayer, tableOf } from './table.js';
import { trial } from './trial.js';
import { cautionsOf, fewestSquares, methodsOf, sentenceOf, whyNone } from './words.js';
import { worked } from './worked.js';

/** Links summed by one run, all dealings together: some minutes of work. */
const mostSteps = 2e10;

export default defineAnalysis({
  id: 'local-autocorrelation',
  title: 'Likeness of neighbouring squares',
  version: '1',
  summary: 'Is a class more alike in neighbouring squares than chance would have it, and which squares stand out?',
  cautions: [
    'Likeness between squares is no proof of behaviour: thickness of the deposit, the hull, and one diver digging a row of squares make neighbours alike.',
    'The answer depends on the size of the square and on what counts as a neighbour; both are printed.',
    'Dealing the values anew takes squares for exchangeable; squares dug in part are not quite.',
    'Every square is a test of its own: read the p after false-discovery control or Holm, never the raw one.',
    'Squares at the edge of the dug area have fewer neighbours and less power.',
  ],
  formula:
    'I = (n / S0) Σ w_ij (z_i − z̄)(z_j − z̄) / Σ (z_i − z̄)²; C = (n − 1) Σ w_ij (z_i − z_j)² / (2 S0 Σ (z_i − z̄)²); local I_i = (z_i − z̄) / m2 Σ_j w_ij (z_j − z̄), m2 = Σ (z − z̄)² / n; Gi* = (Σ_j w_ij z_j − z̄ W_i) / (s √((n S1_i − W_i²) / (n − 1))), w binary with w_ii = 1, s with divisor n; join counts: pairs of neighbours both with finds. p = (1 + #{as extreme}) / (m + 1). Breakage: v = Σ grams / Σ sherds, or sherds / pot vessels, of a square; spread Σ s (v / v̄ − 1)² / Σ s, s its sherds or vessels, held against whole pots dealt anew.',
  sources: [
    'Moran 1950, Biometrika 37, 17–23, doi:10.1093/biomet/37.1-2.17',
    'Geary 1954, The Incorporated Statistician 5, 115–146, doi:10.2307/2986645',
    'Cliff & Ord 1981, Spatial Processes, Pion',
    'Ord & Getis 1995, Geographical Analysis 27, 286–306, doi:10.1111/j.1538-4632.1995.tb00912.x',
    'Anselin 1995, Geographical Analysis 27, 93–115, doi:10.1111/j.1538-4632.1995.tb00338.x',
    'Assunção & Reis 1999, Statistics in Medicine 18, 2147–2162, doi:10.1002/(SICI)1097-0258(19990830)18:16<2147::AID-SIM179>3.0.CO;2-I',
    'Benjamini & Hochberg 1995, Journal of the Royal Statistical Society B 57, 289–300, doi:10.1111/j.2517-6161.1995.tb02031.x',
    'Good 2005, Permutation, Parametric and Bootstrap Tests of Hypotheses, doi:10.1007/b138696',
    'Orton, Tyers & Vince 1993, Pottery in Archaeology, Cambridge (brokenness)',
    'Holm 1979, Scandinavian Journal of Statistics 6, 65–70',
  ],
  parameters,
  result,
  layers: { features: 'area' },
  squareOnly: 'spread',
  spreadsItself: true,
  withoutEffect: ['draws'],
  needsRegister: true,
  defaultSimulations: 999,
  worked,
  trial,
  laws: { movedAndTurned: true },
  run: runLocalAutocorrelation,
});

function runLocalAutocorrelation(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  control.progress(0, 'counting by square');
  const whole = squareLattice(sample, own);
  const sherds = isBreakage(own.value) ? sherdsBySquare(sample, whole, own) : null;
  const lattice = sherds?.lattice ?? whole;
  const codes = presentClasses(sample);
  const steps = control.simulations * (lattice.links.to.length + 20 * lattice.links.n) * (codes.length + 1);
  if (steps > mostSteps) {
    throw new Problem(
      'too-much-work',
      `${control.simulations} dealings to ${lattice.links.n} squares are too many for one run; at most ${Math.floor((control.simulations * mostSteps) / steps)} fit`,
      { simulations: control.simulations, squares: lattice.links.n },
    );
  }
  const withPresence = (counted: { n: number; counts: Float64Array; values: Float64Array }) => ({
    ...counted,
    present: Uint8Array.from(counted.counts, (c) => (c > 0 ? 1 : 0)),
  });
  const field = (classCode: number | null) => {
    const { n, counts } = latticeCounts(lattice, classCode);
    const kind = isBreakage(own.value) ? 'count' : own.value;
    return withPresence({ n, counts, values: squareValues(counts, lattice.exposureM2, kind) });
  };
  const plan = (from: number, to: number) => ({
    count: lattice.links.n < fewestSquares ? 0 : control.simulations,
    seed: control.seed,
    progress: (share: number) => control.progress(from + (to - from) * share, 'dealing the values to the squares anew'),
  });
  const breakage = sherds && breakageOf(sherds.items, lattice.links, plan(0.5, 1));
  const seen =
    sherds && breakage
      ? withPresence({ n: sherds.finds, counts: sherds.counts, values: breakage.values })
      : field(null);
  const all = { ...seen, found: likeness(seen.values, seen.present, lattice.links, plan(0, 0.5)) };
  const classes =
    codes.length < 2 || sherds !== null
      ? []
      : codes.map((code, i) => {
          const own = field(code);
          const share = 0.5 / codes.length;
          const moran = testedMoran(own.values, lattice.links, plan(0.5 + i * share, 0.5 + (i + 1) * share));
          return { ...own, code, moran };
        });

  const numbers = {
    ...summaryOf(sample, own, lattice, all),
    breakage: sherds && breakage && breakagePart(sherds, breakage),
    by_class: classRows(sample, classes),
  };
  // the whole, and every square; of breakage besides its spread, its neighbours and every square again
  const tests = numbers.reason === null ? (numbers.joins.p_two_sided === null ? 2 : 3) + numbers.local.tested : 0;
  const ofBreakage = breakage?.pSpread == null ? 0 : 1 + (breakage.pMoran === null ? 0 : 1) + lattice.tiles.length;
  const counted = {
    ...numbers,
    tests_made: tests + ofBreakage + numbers.by_class.filter((row) => row.p_two_sided !== null).length,
  };
  const summary: Summary = { sentence: sentenceOf(counted), ...counted };
  const rows: SquareRows = {
    lattice,
    counts: all.counts,
    values: all.values,
    mean: summary.mean,
    local: summary.reason === null ? all.found.local : null,
    breakage,
  };
  const layer = squaresLayer(rows);
  const context = { sample, own, lattice, seed: control.seed };
  return {
    summary,
    table: tableOf(rows),
    features: layer,
    figure: squaresFigure(summary, rows, { sample, layer }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}

interface Field {
  readonly n: number;
  readonly values: Float64Array;
  readonly present: Uint8Array;
  readonly found: Likeness;
}

function summaryOf(
  sample: Sample,
  own: Parameters,
  lattice: SquareLattice,
  { n, values, present, found }: Field,
): Omit<Summary, 'sentence' | 'tests_made' | 'by_class' | 'breakage'> {
  const reason = whyNone(n, values.length, found.moran.value === null);
  const { local, joins } = found;
  // sherds lie in every square that is used: there is nothing to join
  const joinP = isBreakage(own.value) ? null : found.joinP;
  const marked = (column: 'pFdr' | 'pHolm', side: number) =>
    local === null || reason !== null
      ? 0
      : local[column].reduce((sum, p, i) => sum + (p <= 0.05 && local.side[i] === side ? 1 : 0), 0);
  const simulations = found.joinP === null ? 0 : found.simulations;
  return {
    moran: { i: reason === null ? found.moran.value : null, ...statistic(found.moran, reason) },
    geary: { c: reason === null ? found.geary.value : null, ...statistic(found.geary, reason) },
    joins: {
      ...joins,
      expected_both: found.expectedJoins?.both ?? null,
      p_more: joinP?.more ?? null,
      p_fewer: joinP?.fewer ?? null,
      p_two_sided: joinP?.twoSided ?? null,
    },
    reason,
    n,
    window_area_m2: sample.windowAreaM2,
    value: own.value,
    squares: values.length,
    squares_alone: lattice.alone,
    squares_with_finds: present.reduce((sum, p) => sum + p, 0),
    joins_made: lattice.links.to.length / 2,
    mean: values.length === 0 ? null : values.reduce((sum, v) => sum + v / values.length, 0),
    simulations,
    local: {
      tested: reason === null && local !== null ? local.p.filter((p) => !Number.isNaN(p)).length : 0,
      smallest_p: simulations > 0 ? Math.min(1, 2 / (simulations + 1)) : null,
      high_fdr: marked('pFdr', 1),
      low_fdr: marked('pFdr', -1),
      high_holm: marked('pHolm', 1),
      low_holm: marked('pHolm', -1),
    },
  };
}

function breakagePart({ lattice, ...sherds }: Sherds, found: Breakage): Summary['breakage'] {
  const marked = (isHigh: boolean) =>
    lattice.tiles.flatMap((tile, i) =>
      found.pFdr[i] <= 0.05 && found.values[i] > found.mean === isHigh ? [lattice.counted.squares.label(tile)] : [],
    );
  const expected = found.spreadExpected;
  return {
    ratio: expected === null || !(expected > 0) ? null : found.spread / expected,
    spread: found.spread,
    spread_expected: expected,
    p_uneven: found.pSpread,
    p_neighbours: found.pMoran,
    mean: found.mean,
    sherd_finds: sherds.finds,
    finds_left_out: sherds.leftOut,
    pot_vessels: sherds.pots,
    units: found.units,
    units_fixed: found.fixed,
    low_squares: marked(false),
    high_squares: marked(true),
  };
}

function statistic(found: TestedStatistic, reason: string | null) {
  const known = (value: number | null) => (reason === null ? value : null);
  return {
    expected: known(found.expected),
    low: known(found.low),
    high: known(found.high),
    p_permutation: known(found.pPermutation),
    z_randomisation: known(found.zRandomisation),
    p_randomisation: known(found.pRandomisation),
    z_normality: known(found.zNormality),
    p_normality: known(found.pNormality),
  };
}

interface ClassField {
  readonly code: number;
  readonly n: number;
  readonly present: Uint8Array;
  readonly moran: TestedStatistic;
}

function classRows(sample: Sample, classes: readonly ClassField[]): Summary['by_class'] {
  const p = classes.map(({ moran }) => moran.pPermutation ?? moran.pRandomisation);
  const adjusted = holm(p.map((value) => value ?? Number.NaN));
  return classes.map(({ code, n, present, moran }, i) => ({
    artefact_class: code === 0 ? null : sample.classes[code - 1],
    n,
    squares_with_finds: present.reduce((sum, v) => sum + v, 0),
    i: moran.value,
    expected: moran.expected,
    p_two_sided: p[i],
    p_holm: Number.isNaN(adjusted[i]) ? null : adjusted[i],
  }));
}
