import type { Sample } from '../../domain/sample.js';
import type { BlockPlan } from '../../math/blocks.js';
import { kruskalWallis } from '../../math/ranks.js';
import { Problem } from '../../problems.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { classRows } from './class-rows.js';
import { beyondSurfaces, type FindDepths, findDepths } from './depths.js';
import { depthFigure } from './figure.js';
import { groupsOf } from './groups.js';
import { compareGroups } from './pair.js';
import { type Parameters, parameters, result, type Summary } from './schemas.js';
import { findsLayer, tableOf } from './table.js';
import { densityTrend, keelTrend } from './trends.js';
import { trial } from './trial.js';
import { gatherUnits } from './units.js';
import { cautionsOf, headline, methodsOf } from './words.js';
import { worked } from './worked.js';

export default defineAnalysis({
  id: 'vertical-distribution',
  title: 'Depth in the deposit',
  version: '1',
  summary: 'Which classes lie deeper in the deposit, given both of its surfaces?',
  cautions: [
    'Raw depth mixes where a class lies with how thick the deposit is there; relative depth and dealing names out within squares keep both apart.',
    'Finds without an elevation are not missing at random: small ones come from the sieve.',
    'Where digging stopped short of the deposit bottom, the deepest finds are still there.',
    'Over articulated hull the bottom of the deposit is the ship: a find cannot lie deeper, however dense.',
    'Denser is deeper is a hypothesis: buried objects mostly move with the sediment, and heavy cargo was stowed low.',
    'Levels of the top and of the bottom share the error of their season; it cancels only where finds were levelled from the same zero.',
  ],
  formula:
    'u = (top − z) / (top − bottom), surfaces bilinear between nodes; σ_u² = ((1 − u)² σ_top² + u² σ_bottom² + σ_z²) / (top − bottom)²; used where top − bottom ≥ 4 √(σ_top² + σ_bottom²). Effect: mean u of the first less mean u of the second, over units; p = (1 + #{dealings as extreme}) / (m + 1), two-sided twice the smaller, names dealt out within squares, units whole. Interval: 2.5 to 97.5 % of means resampled within squares.',
  sources: [
    'Besag & Diggle 1977, Applied Statistics 26, 327–333, doi:10.2307/2346974',
    'Phipson & Smyth 2010, Statistical Applications in Genetics and Molecular Biology 9, 39, doi:10.2202/1544-6115.1585',
    'Rao & Wu 1988, Journal of the American Statistical Association 83, 231–241, doi:10.1080/01621459.1988.10478591',
    'Good 2005, Permutation, Parametric and Bootstrap Tests of Hypotheses, 3rd edition, doi:10.1007/b138696',
    'Holm 1979, Scandinavian Journal of Statistics 6, 65–70',
    'Mann & Whitney 1947, doi:10.1214/aoms/1177730491; Kruskal & Wallis 1952, doi:10.1080/01621459.1952.10483441',
    'Muckelroy 1975, International Journal of Nautical Archaeology 4.2, 173–190',
    'McNinch, Wells & Trembanis 2006, International Journal of Nautical Archaeology 35',
  ],
  parameters,
  result,
  layers: { features: 'point' },
  squareOnly: 'exclude',
  spreadsItself: true,
  withoutEffect: ['square_only', 'draws', 'count_unit'],
  defaultSimulations: 9999,
  worked,
  trial,
  laws: { movedAndTurned: true },
  run: runVerticalDistribution,
});

/** Labels dealt in one run, all dealings together: some minutes of work. */
const mostDealt = 5e9;

function runVerticalDistribution(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  const groups = groupsOf(sample, own);
  const depths = findDepths(sample, own);
  const members = Array.from(depths.reason.keys()).filter((i) => depths.reason[i] === null);
  if (control.simulations * members.length > mostDealt) {
    throw new Problem(
      'too-much-work',
      `${control.simulations} dealings of ${members.length} finds are too many for one run; at most ${Math.floor(mostDealt / members.length)} fit`,
      { simulations: control.simulations, n: members.length },
    );
  }
  const plan = (from: number, to: number): BlockPlan => ({
    count: control.simulations,
    seed: control.seed,
    progress: (share) => control.progress(from + (to - from) * share, 'dealing out names within squares'),
  });
  const classOf = (i: number) => sample.classCode[i];
  const all = gatherUnits(sample, depths, {
    members,
    labelOf: classOf,
    labels: sample.classes.length + 1,
    blockM: own.block_m,
  });
  const pair = groups ? compareGroups(sample, depths, { groups, members, own, plan: plan(0.6, 0.8) }) : null;
  // two groups asked for are one test: the classes beside them are described, not tested
  const rows = classRows({ sample, depths, units: all, plan: { ...plan(0, 0.6), ...(groups ? { count: 0 } : {}) } });
  const trend = own.question === 'classes' && groups === null ? densityTrend(sample, all, plan(0.8, 1)) : null;
  const keel = own.question === 'keel_distance' ? keelTrend(sample, all, plan(0.8, 1)) : null;
  const lists = rows.map((row) => all.u.filter((_, k) => all.label[k] === row.code)).filter((list) => list.length > 0);
  const kruskal = kruskalWallis(lists);
  const measured = {
    n: members.length,
    units: all.u.length,
    blocks: new Set(all.block).size,
    window_area_m2: sample.windowAreaM2,
    lower_surface: own.lower_surface,
    ...pooled(depths, members),
    comparison: pair,
    trend,
    keel_distance: keel,
    kruskal_wallis: kruskal,
    by_class: rows.map(({ code: _code, ...row }) => row),
    ...countsOf(sample, depths, members),
  };
  const summary: Summary = { ...headline(measured, { own, all, plan: plan(0.95, 1) }), ...measured };
  const context = { sample, own, simulations: control.simulations, seed: control.seed };
  return {
    summary,
    table: tableOf(summary),
    features: findsLayer(sample, depths),
    figure: depthFigure({ sample, depths, members, summary, groups }),
    methods: methodsOf(summary, context),
    cautions: cautionsOf(summary, context),
  };
}

function pooled(depths: FindDepths, members: readonly number[]) {
  const sigmas = members.map((i) => depths.sigma[i]).sort((a, b) => a - b);
  return {
    mean: members.length === 0 ? null : members.reduce((sum, i) => sum + depths.u[i], 0) / members.length,
    median_sigma: sigmas.length === 0 ? null : sigmas[sigmas.length >> 1],
  };
}

function countsOf(sample: Sample, depths: FindDepths, members: readonly number[]) {
  const reasons = new Map<string, number>();
  for (const reason of depths.reason) if (reason !== null) reasons.set(reason, (reasons.get(reason) ?? 0) + 1);
  const beyond = (side: 1 | -1) =>
    Array.from(depths.u.keys()).filter((i) => beyondSurfaces(depths.u[i], depths.sigma[i]) === side);
  const count = (flag: Uint8Array) => members.reduce((sum, i) => sum + flag[i], 0);
  const className = (i: number) => (sample.classCode[i] === 0 ? null : sample.classes[sample.classCode[i] - 1]);
  return {
    left_out: [...reasons].map(([reason, n]) => ({ reason, count: n })).sort((a, b) => b.count - a.count),
    below_lower_surface: beyond(1)
      .sort((a, b) => depths.aboveBottomM[a] - depths.aboveBottomM[b])
      .map((i) => ({
        find: sample.label[i],
        artefact_class: className(i),
        relative_depth: depths.u[i],
        sigma: depths.sigma[i],
        below_m: -depths.aboveBottomM[i],
      })),
    above_top: beyond(-1).length,
    ranges: count(depths.isRange),
    mixed_seasons: count(depths.isMixed),
    over_hull: count(depths.isOverHull),
    in_disturbed_ground: count(depths.isDisturbed),
  };
}
