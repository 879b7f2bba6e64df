import type { Sample } from '../../domain/sample.js';
import { type Answer, defineAnalysis, type RunControl } from '../contract.js';
import { checkAreaFinds } from './area-finds.js';
import { rowsBeforeBackfill } from './backfilled.js';
import { checkSquares } from './dug-squares.js';
import { registerFigure } from './figure.js';
import { checkFinds } from './find-checks.js';
import { checkLevels } from './level-checks.js';
import { rowsLayer, tableOf } from './list.js';
import { seasonLevels } from './node-book.js';
import { findPlaces } from './positions.js';
import { checkRegister } from './register-numbers.js';
import { kinds, type Oddity, type Parameters, parameters, result, type Summary } from './schemas.js';
import { checkSurfaces } from './surface-checks.js';
import { cautionsOf, methodsOf, sentenceOf } from './words.js';
import { worked as workedExamples } from './worked.js';

export default defineAnalysis({
  id: 'register-check',
  title: 'Register check',
  version: '2',
  summary: 'What in the register and the levels is plausible but odd, and what must be settled before backfilling?',
  cautions: [
    'A row is a question to the record, not an error found: the sheet, the drawing and the diver decide.',
    'Nothing is repaired: other analyses use what is listed here as it stands.',
    'Beside a hull the ground bends within a step, so a true level may look like a spike and a find in place like one below the bottom.',
    'A series is compared only with others of its season; a season read wholly without tide shows nowhere here.',
    'A tidy list is no proof: a find written into the wrong square of a plausible place is not seen.',
  ],
  formula:
    'Spike: |z − median of lines through neighbours| > k · max(√2 σ, 1.4826 MAD over the surface, 1.4826 MAD of the lines). Series: median of (z − plane through other series within 2.6 steps), weighted over surfaces by n / (π/2 · s²). Beyond a surface: (z − top) or (bottom − z) > k √(σ_find² + σ_surface²). Heaping: P(X ≥ k), X binomial (n, 0.02).',
  sources: [
    'Rousseeuw & Croux 1993, Journal of the American Statistical Association 88, 1273–1283, doi:10.1080/01621459.1993.10476408',
    'Clopper & Pearson 1934, Biometrika 26, 404–413, doi:10.1093/biomet/26.4.404',
  ],
  parameters,
  result,
  layers: { features: 'point' },
  squareOnly: 'spread',
  spreadsItself: true,
  needsWindow: false,
  needsRegister: true,
  withoutEffect: ['draws', 'simulations', 'seed'],
  defaultSimulations: 0,
  worked: workedExamples,
  laws: { movedAndTurned: false },
  run: runRegisterCheck,
});

function runRegisterCheck(sample: Sample, own: Parameters, control: RunControl): Answer<Summary> {
  control.progress(0, 'reading levels');
  const worked = [...sample.dug, ...(sample.undug ?? [])];
  const levelSeasons = [...new Set(sample.levels?.season ?? [])].sort();
  const book = new Map(
    [...new Set([...levelSeasons, ...worked.map((area) => area.season), ...sample.seasons, ''])].map((season) => [
      season,
      seasonLevels(sample, season, own.level_sigma_m),
    ]),
  );
  const booksOf = (seasons: readonly string[]) => seasons.flatMap((season) => book.get(season) ?? []);
  const frameOf = (season: string) => (book.get(season) ?? book.get(''))?.frame ?? null;
  control.progress(0.3, 'checking levels');
  const levels = checkLevels(booksOf(levelSeasons), own);
  const squares = checkSquares(sample, booksOf([...new Set(worked.map((area) => area.season))]));
  control.progress(0.6, 'checking finds');
  const places = findPlaces(sample, frameOf);
  const finds = checkFinds(sample, places, { own, frameOf });
  const surfaces = checkSurfaces(sample, places.inside, { own, doubtful: levels.doubtful });
  const areaFinds = checkAreaFinds(sample, { own, doubtful: levels.doubtful });
  const register = checkRegister(sample.register, sample.seasons);
  const placed = [...levels.oddities, ...finds.oddities, ...surfaces.oddities, ...areaFinds.oddities];
  const rows = inOrder([...rowsBeforeBackfill(sample.dug, placed), ...squares.oddities, ...register]);
  const found = {
    n: sample.xy.length / 2 + sample.areas.length,
    window_area_m2: sample.windowAreaM2,
    levels: sample.levels?.x.length ?? 0,
    squares: squares.squares,
    finds_against_surfaces: surfaces.compared,
    area_finds_against_surfaces: areaFinds.compared,
    tests_made: finds.heaping.length,
    rows_found: rows.length,
    counts: countsOf(rows),
    inverted_nodes: [...levels.inverted],
    missing_nodes: [...squares.missing],
    series_offsets: levels.series,
    heaping: finds.heaping,
    rows,
  };
  const summary: Summary = { sentence: sentenceOf(found), ...found };
  return {
    summary,
    table: tableOf(rows),
    features: rowsLayer(rows),
    figure: registerFigure(sample, summary),
    methods: methodsOf(sample, own, control.seed),
    cautions: cautionsOf(sample, found, own),
  };
}

const gravity: readonly Oddity['severity'][] = ['serious', 'look', 'note'];

/** The gravest first, then by kind; otherwise as found. */
function inOrder(rows: readonly Oddity[]): Oddity[] {
  return [...rows].sort(
    (a, b) =>
      gravity.indexOf(a.severity) - gravity.indexOf(b.severity) || kinds.indexOf(a.kind) - kinds.indexOf(b.kind),
  );
}

function countsOf(rows: readonly Oddity[]): Summary['counts'] {
  return kinds.flatMap((kind) => {
    const own = rows.filter((row) => row.kind === kind);
    if (own.length === 0) return [];
    return [
      {
        kind,
        rows: own.length,
        serious: own.filter((row) => row.severity === 'serious').length,
        before_backfill: own.filter((row) => row.before_backfill).length,
      },
    ];
  });
}
