import { countOf, type Question, type Summary, shown } from './question.js';

const survey = 'Survey and levels';
const deposit = 'The deposit';

/** Questions of survey and of the deposit. */
export const surveyQuestions: readonly Question[] = [
  {
    number: 1,
    group: survey,
    words: 'Is every find inside its stated square?',
    process: 'register-check',
    inputs: {},
    result: (s) => `${countOf(s, 'outside_stated_square')} finds lie outside their stated square`,
  },
  { number: 2, group: survey, words: 'Which readings do not fit?', process: 'survey-adjustment', inputs: {} },
  {
    number: 3,
    group: survey,
    words: 'How good is this season’s grid against last season’s?',
    process: 'grid-fit',
    inputs: {},
  },
  {
    number: 4,
    group: survey,
    words: 'Which nodes are missing or inverted?',
    process: 'register-check',
    inputs: {},
    result: (s) =>
      `${s.missing_nodes.length} nodes lack a level, ${s.inverted_nodes.length} have the top below the bottom`,
  },
  {
    number: 5,
    group: survey,
    words: 'Are any levels tidal mistakes?',
    process: 'register-check',
    inputs: {},
    result: (s) =>
      `${
        s.series_offsets
          .filter((o: Summary) => o.looks_unreduced)
          .map(
            (o: Summary) =>
              `series ${o.reading_series} lies ${shown(o.offset_m)} m (± ${shown(o.sigma_m, 2)}) off its neighbours`,
          )
          .join('; ') || 'no series looks unreduced'
      }`,
  },
  {
    number: 6,
    group: deposit,
    words: 'How thick is the deposit, and where?',
    process: 'deposit-surface',
    inputs: { surface: 'thickness' },
    result: (s) =>
      `${shown(s.min_elevation_m)} to ${shown(s.max_elevation_m)} m at ${s.n} nodes, mean ${shown(s.mean_surface_m)} m over ${shown(s.area_m2, 4)} m²`,
  },
  {
    number: 7,
    group: deposit,
    words: 'What volume was dug in each season?',
    process: 'deposit-volume',
    inputs: {},
    result: (s) =>
      `${s.by_season.map((o: Summary) => `${o.name} ${shown(o.volume_m3)} m³`).join(', ')}; together ${shown(s.volume_m3, 4)} ± ${shown(s.sigma_m3, 2)} m³ over the ${shown(s.area_m2, 4)} m² with levels`,
  },
  {
    number: 8,
    group: deposit,
    words: 'How much is left, area and volume?',
    process: 'deposit-volume',
    inputs: {},
    result: (s) =>
      `${shown(s.left_m3)} m³ left in ground dug in part; ${shown(s.undug.area_m2)} m² not dug, about ${shown(s.undug.estimate_m3)} ± ${shown(s.undug.sigma_m3, 2)} m³ (extrapolated)`,
  },
  {
    number: 9,
    group: deposit,
    words: 'Which way does the deposit slope?',
    process: 'trend-surface',
    inputs: { surface: 'deposit_bottom' },
    result: (s) =>
      `dips ${shown(s.dip_deg)}° ± ${shown(s.se_dip_deg, 1)}° towards ${shown(s.direction_deg, 4)}° from site_north`,
  },
  {
    number: 10,
    group: deposit,
    words: 'Did the surface change between seasons beyond error?',
    process: 'surface-change',
    inputs: {},
  },
  {
    number: 11,
    group: deposit,
    words: 'Does thickness follow the hull line?',
    process: 'deposit-volume',
    inputs: {},
    result: (s) =>
      s.keel === null
        ? 'no ship axis'
        : `mean thickness by distance from the keel in ${s.keel.strips.length} strips of ${s.keel.n} squares, with a band from ${s.keel.blocks} blocks`,
  },
  {
    number: 50,
    group: deposit,
    words: 'Do highs of the bathymetry match the thickness?',
    process: 'deposit-volume',
    inputs: {},
    result: (s) =>
      s.bathymetry === null
        ? 'no bathymetry'
        : `rank correlation ${shown(s.bathymetry.rank_correlation, 2)} at ${s.bathymetry.n} nodes; mean thickness ${shown(s.bathymetry.mean_thickness_on_highs_m)} m on ${s.bathymetry.highs} highs, ${shown(s.bathymetry.mean_thickness_elsewhere_m, 2)} m elsewhere; bathymetry ${s.bathymetry.uncertainty}`,
  },
  {
    number: 52,
    group: deposit,
    words: 'A section along row 9 with finds within 0.5 m',
    process: 'section',
    inputs: { line: 'row:9', band_m: 0.5 },
    result: (s) =>
      `${shown(s.length_m)} m with ${s.n} finds; thickness ${shown(s.thickness?.mean_m)} m on average over ${shown(s.thickness?.known_m)} m, largest ${shown(s.thickness?.largest_m)} m`,
  },
];
