import type { Sample } from '../../domain/sample.js';
import { areaText } from '../../figures/sentence.js';
import { kindWords } from './list.js';
import type { Parameters, Summary } from './schemas.js';

/** The list in a sentence: how much, how grave, the gravest kinds by number. */
export function sentenceOf(found: Omit<Summary, 'sentence'>): string {
  if (found.rows_found === 0) {
    return `Nothing odd among ${found.n} finds, ${found.levels} level readings and ${found.squares} dug squares.`;
  }
  const serious = found.counts.filter((row) => row.serious > 0);
  const count = serious.reduce((sum, row) => sum + row.serious, 0);
  const named = serious.slice(0, 6).map((row) => `${row.serious} × ${kindWords[row.kind]}`);
  const open = found.counts.reduce((sum, row) => sum + row.before_backfill, 0);
  return `${found.rows_found} rows to look at, ${count} of them serious${named.length > 0 ? ` (${named.join('; ')})` : ''}; ${open} to be settled before backfilling.`;
}

/** Paragraph for the methods section. */
export function methodsOf(sample: Sample, own: Parameters, seed: number): string {
  return [
    `Finds, levels and dug squares of ${sample.windowSource} (${areaText(sample.windowAreaM2)}) were checked for what is plausible but odd; nothing was repaired, and what is missing stays missing.`,
    `Corners of dug squares (at least half dug) were looked up among the levels of the season; a re-laid grid was followed by fitting it to its labelled nodes.`,
    `A level counts as a spike beyond ${own.spike_sigmas} robust errors of what the lines through its neighbours say, the scale from median absolute deviations (Rousseeuw & Croux 1993); a reading series as an unreduced tide when its median residual against planes through other series exceeds ${own.series_offset_m} m and four robust standard errors. Inverted nodes and such series are left out as neighbours of the rest.`,
    `A find lies outside its stated square beyond ${own.boundary_tolerance_m} m, so a find on a line belongs to both its squares; above the top or below the bottom beyond ${own.beyond_sigmas} errors of find and surface together, surfaces bilinear between nodes. Heaping: offsets within 5 mm of 0.0 or 0.5 m against the binomial law at 0.02, one exact test for each season, all tests together at 0.001.`,
    `Levels that state no error were given ${own.level_sigma_m} m, elevations of finds ${own.find_sigma_m} m.`,
    `Register numbers: an import refuses the same number twice and a find without one; looked for are numbers alike but for case, punctuation and leading zeros, and numbers left out of a series (at least ten numbers, half of its span used). Finds known by an area were held against the highest top and the lowest bottom of all of it. What lies in ground already backfilled is not on the list before backfilling. No simulations; seed ${seed} without effect.`,
  ].join(' ');
}

/** What a reader must know beside the list. */
export function cautionsOf(sample: Sample, found: Omit<Summary, 'sentence'>, own: Parameters): string[] {
  const chance = found.counts.some((row) => row.kind === 'above_top' || row.kind === 'below_bottom');
  return [
    ...(sample.levels === null
      ? ['There are no levels in this selection: nodes, surfaces and series were not checked.']
      : []),
    ...(sample.grid === null ? ['There is no site grid here: stated squares were not checked.'] : []),
    ...(chance
      ? [
          `${found.finds_against_surfaces} finds were compared with the surfaces at ${own.beyond_sigmas} errors: a few of those lying at a surface exceed it by chance, and beside the hull ground bends between nodes.`,
        ]
      : []),
    ...(found.series_offsets.some((row) => row.looks_unreduced)
      ? ['Finds compared with levels of a series that looks unreduced are off by the same amount.']
      : []),
  ];
}
