import type { Sample } from '../../domain/sample.js';
import { generatorName } from '../../math/random.js';
import type { ClassBook } from './book.js';
import type { Parameters, Summary } from './schemas.js';

function shown(value: number | null, digits = 3): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

const unitText = { find: 'finds', piece: 'pieces', pot_vessel: 'pot vessels', weight: 'g' } as const;

/** What disturbed ground holds, led by the effect; empty where it was not asked. */
function disturbedText({ disturbed }: Omit<Summary, 'sentence'>): string {
  if (disturbed === null) return '';
  const { all, contexts, by_class: classes } = disturbed;
  const where = `${shown(disturbed.disturbed_m2)} m² of disturbed ground (${contexts.join(', ')})`;
  if (all.p_two_sided === null) return `No rate can be compared: ${where}, ${all.disturbed} finds in it. `;
  const seen = classes.filter((row) => row.p_holm !== null && row.p_holm <= 0.05).length;
  const verdict =
    all.p_two_sided > 0.05
      ? 'not told apart from other ground'
      : 'unlike other ground, by what was taken, what fell in, or simply where the contexts lie on the wreck';
  const either = all.either === 0 ? '' : `, ${all.either} more known by a square only that holds both`;
  return `${all.disturbed} finds in ${where}${either}: ${shown(all.rate_ratio)} times as many measured finds per m² as in other dug ground (exact 95 % interval ${shown(all.low)} to ${all.high === null ? 'no end' : shown(all.high)} if they fell one by one), p = ${shown(all.p_two_sided)}: ${verdict}; ${seen} of ${classes.length} classes differ after Holm. `;
}

/** The answer in a sentence. */
export function sentenceOf(summary: Omit<Summary, 'sentence'>): string {
  const { n, accumulation } = summary;
  if (n === 0) return `No find in the selection; ${summary.squares} dug squares stand with zeros.`;
  const rate =
    summary.per_m2 === null
      ? ''
      : `; in dug squares ${shown(summary.per_m2)} ${unitText[summary.rate_of]} per m²${summary.per_m2_low === null ? '' : ` (95 % interval ${shown(summary.per_m2_low)} to ${shown(summary.per_m2_high)} if they fell one by one)`}`;
  const curve =
    accumulation === null || accumulation.classes < 2
      ? ''
      : `; ${accumulation.classes} classes met in dug squares, ${accumulation.once} of them in one square only, at least ${shown(accumulation.estimate)} to be expected`;
  const classes =
    summary.classes === 0 ? 'unknown class' : summary.classes === 1 ? 'one class' : `${summary.classes} classes`;
  return `${disturbedText(summary)}${n} finds of ${classes}: ${summary.in_dug_squares} in ${summary.squares - summary.squares_without_finds} of ${summary.squares} dug squares, ${summary.in_other_squares} in squares not dug in their season, ${summary.without_square} without a square${rate}${curve}.`;
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, of: { sample: Sample; own: Parameters; seed: number }): string {
  const { sample, own } = of;
  const where = sample.grid
    ? `the square the register states, else the one it lies in by the boundary rule (${sample.grid.boundary_rule}) of grid ${sample.grid.id}`
    : `squares of ${own.square_m} m from the lower-left corner of the window`;
  const sentences = [
    `${summary.n} finds counted by class, season and square (${where}); zeros stand for squares dug in the season, squares not dug are absent; window ${shown(summary.window_area_m2, 8)} m² (${sample.windowSource}), ground dug ${shown(summary.dug_m2, 8)} m² (area times the share dug).`,
    `Rates of ${unitText[own.rate_of]} per m² of ground dug and per m³ of deposit, the thickness of a square meaned bilinearly from top and bottom levelled in the season (three quarters of the square between nodes at least), with exact 95 % intervals (Garwood 1936).`,
  ];
  if (summary.disturbed) {
    sentences.push(
      `Disturbed ground: contexts ${summary.disturbed.contexts.join(', ')}, ${shown(summary.disturbed.disturbed_m2, 6)} m² dug inside and ${shown(summary.disturbed.undisturbed_m2, 6)} m² outside; finds by their position, those known by a square only where the whole square lies on one side; ratios of finds with a measured position per m² with exact intervals (Clopper & Pearson 1934), p of classes after Holm.`,
    );
  }
  if (summary.accumulation) {
    sentences.push(
      `Accumulation curve: exact mean over all sequences of squares (Ugland, Gray & Ellingsen 2003), band from ${own.sequences} random sequences, seed ${of.seed}, generator ${generatorName}; classes unseen after Chao (1987).`,
    );
  }
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, book: ClassBook): string[] {
  const { sample, placed } = book;
  const cautions: string[] = [];
  if (sample.register) {
    cautions.push(
      `All ${summary.n} finds of the selection stand in the table, those without a position included; whatever is said of positions does not touch it.`,
    );
  }
  if (summary.changes) cautions.push(changesText(summary.changes));
  if (placed.moved > 0) {
    cautions.push(
      `${placed.moved} finds state a square with no ground dug in their season and are counted in the dug square they lie in.`,
    );
  }
  if (summary.in_other_squares > 0) {
    cautions.push(
      `${summary.in_other_squares} finds are stated in squares with no ground dug in their season: they stand in rows of their own and in no rate; look at the register check.`,
    );
  }
  const heaped = summary.by_class.filter((row) => row.dispersion !== null && row.dispersion > 1.5 && row.finds > 4);
  if (heaped.length > 0) {
    const most = heaped.reduce((a, b) => ((a.dispersion ?? 0) > (b.dispersion ?? 0) ? a : b));
    cautions.push(
      `Finds of ${heaped.length === 1 ? 'one class' : `${heaped.length} classes`} are heaped, most of all ${most.artefact_class ?? 'those of unknown class'} (χ² / df ${shown(most.dispersion)}): exact intervals take finds for independent and are too narrow by about the root of that, ${shown(Math.sqrt(most.dispersion ?? 1), 2)} times.`,
    );
  }
  if (summary.uncounted > 0 && summary.uncounted < summary.finds) {
    cautions.push(`${summary.uncounted} finds have no number of pieces: pieces are those of the others.`);
  }
  if (summary.unweighed > 0 && summary.unweighed < summary.finds) {
    cautions.push(`${summary.unweighed} finds have no weight: weights are those of the others.`);
  }
  const unknown = book.seasonSquares.filter((square) => square.volumeM3 === null).length;
  if (unknown > 0 && unknown < book.seasonSquares.length) {
    cautions.push(
      `${unknown} of ${book.seasonSquares.length} squares and seasons have no known thickness: rates per m³ speak of the others.`,
    );
  }
  if (summary.pot_vessels > 0) {
    cautions.push('A pot vessel met in several rows counts in each of them: vessels do not add up over rows.');
  }
  if (summary.disturbed) {
    cautions.push(
      'Contexts are drawn in plan: a find below the floor of a pit counts as inside it. Contexts lie where somebody dug, often the richest part of a wreck, so a ratio is no measure of what was taken.',
    );
  }
  const meshes = new Set(sample.dug.map((dug) => dug.meshMm).filter((mesh) => mesh !== null));
  if (meshes.size > 1) {
    cautions.push(
      `Ground was sieved at different meshes (${[...meshes].sort((a, b) => a - b).join(', ')} mm): small classes are not counted alike in all seasons.`,
    );
  }
  return cautions;
}

/** What changed against another version or date, in a sentence. */
function changesText(changes: NonNullable<Summary['changes']>): string {
  const state = (version: number | null, date: string | null) =>
    `data version ${version}${date === null ? '' : ` as known on ${date}`}`;
  const total = (name: 'arrived' | 'gone' | 'became') => changes.by_class.reduce((sum, row) => sum + row[name], 0);
  const moved = changes.by_class
    .filter((row) => row.became > 0 || row.ceased > 0)
    .map((row) => `${row.artefact_class ?? 'class unknown'} ${row.before} to ${row.after}`);
  return `From ${state(changes.from_version, changes.from_identified_as_of)} to ${state(changes.to_version, changes.to_identified_as_of)} finds new ${total('arrived')}, gone ${total('gone')}, now of another class ${total('became')}${moved.length === 0 ? '' : ` (${moved.join(', ')})`}.`;
}
