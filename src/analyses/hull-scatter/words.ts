import type { Sample } from '../../domain/sample.js';
import { median } from '../../math/quantiles.js';
import { generatorName } from '../../math/random.js';
import type { ChosenHull } from './measures.js';
import type { Parameters, Summary } from './schemas.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly hull: ChosenHull;
  readonly coincident: number;
  /** share of dug ground inside hull areas, where that ground is at distance 0 */
  readonly atZero: number;
  readonly simulations: number;
  readonly seed: number;
}

function shown(value: number | null, digits = 3): string {
  return value === null ? 'not known' : String(Number(value.toPrecision(digits)));
}

/** Whether the question is about the edge of the dug area, not the hull. */
export const isEdge = (own: Parameters): boolean => own.line === null && own.distance === 'trench_edge';

/** What the distances are measured to, in the words of a caption. */
export function measuredTo(own: Parameters): string {
  if (own.line) return `the line ${own.line[0]} x + ${own.line[1]} y + ${own.line[2]} = 0`;
  if (own.distance === 'axis') return 'the ship axis';
  if (own.distance === 'trench_edge') return 'the edge of the dug area';
  return own.distance === 'outline' ? 'the outline of the hull areas' : 'the nearest hull feature';
}

function featuresText(own: Parameters, hull: ChosenHull): string {
  const areas = hull.elements.filter((feature) => feature.type === 'area').length;
  return own.distance === 'outline' ? `the outline of ${areas} hull areas` : `${hull.elements.length} hull features`;
}

/** The answer in one line. */
export function answerLine(summary: Summary): string {
  const { n, distance_m: distance, expected_median_m: expected, simulated } = summary;
  if (n === 0) return 'No find in the window';
  if (summary.trench_edge) return edgeLine(summary, summary.trench_edge);
  const p = simulated ? `; p = ${shown(simulated.p_two_sided)} against random scatters` : '';
  return `Median distance of ${n} finds ${shown(distance.median)} m, of the dug ground ${shown(expected)} m${p}`;
}

/** Richness towards the edge: effect and interval, p of both nulls, squares to look beyond. */
function edgeLine(summary: Summary, edge: NonNullable<Summary['trench_edge']>): string {
  const { simulated, against_others: others } = summary;
  const trend =
    edge.times_per_m === null
      ? 'no trend can be fitted'
      : `${shown(edge.times_per_m)} times as many finds per m² for each metre further in (95 % interval ${shown(edge.low)} to ${shown(edge.high)})`;
  const p = [
    ...(simulated ? [`p = ${shown(simulated.p_two_sided)} against random scatters`] : []),
    ...(others?.p_two_sided == null ? [] : [`${shown(others.p_two_sided)} against names dealt over all finds`]),
  ].join(', ');
  const isSeen = simulated !== null && simulated.p_two_sided <= 0.05;
  const verdict = !isSeen
    ? 'a trend towards the edge is not told apart from chance'
    : simulated.p_closer < simulated.p_farther
      ? 'richer towards the edge: finds go on beyond it, or the rich ground was dug at its edge only'
      : 'poorer towards the edge: the scatter thins out there, or digging stopped where it did';
  const rich = edge.squares.filter((square) => square.low !== null && square.low > 1);
  const named = rich.slice(0, 5).map((square) => `${square.square} (${square.n})`);
  return `${trend}${p === '' ? '' : `; ${p}`}: ${verdict}; ${rich.length} of ${edge.squares.length} squares at the edge are richer than the rest${named.length > 0 ? `, most of all ${named.join(', ')}` : ''}`;
}

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { own, hull, sample } = context;
  const isStraight = own.line !== null || own.distance === 'axis';
  const sentences = [
    `Distances from ${summary.n} finds to ${measuredTo(own)}, held against the distances of all dug ground (window ${shown(summary.window_area_m2, 8)} m², ${sample.windowSource}).`,
    isEdge(own)
      ? `Share of dug ground within each distance of its own edge (outer and inner): exact but for rounding (bound ${shown(summary.f0_bound, 2)}); trend log-linear in that distance by maximum likelihood, interval by its information.`
      : isStraight
        ? 'Share of dug ground within each distance: exact, from strips cut from the window along the line.'
        : `Share of dug ground within each distance: exact but for rounding (bound ${shown(summary.f0_bound, 2)}), from cells of the window in which the nearest part of ${featuresText(own, hull)} (${own.timbers === 'in_place' ? 'articulated and in place' : 'all, loose and displaced ones included'}; outline: ${own.outline}) is decided.`,
    "Kolmogorov's test with its exact law for n finds (Marsaglia, Tsang & Wang 2003; Simard & L'Ecuyer 2011); Berman's (1986) Z1, with the number of finds random and held fixed, and Z2; two-sided p by the normal law.",
  ];
  if (summary.simulated) {
    sentences.push(
      `Simulated p: mean distance among ${summary.simulated.simulations} scatters of the same number of finds, uniform in the same window, p = (1 + number as extreme) / (${summary.simulated.simulations} + 1), two-sided twice the smaller (Besag & Diggle 1977).`,
    );
  }
  if (summary.against_others?.p_two_sided != null) {
    sentences.push(
      `Random labelling: the names dealt out ${context.simulations} times over these finds and ${summary.against_others.others} others of the same seasons, the mean distance compared.`,
    );
  }
  const { zones_by_class: table } = summary;
  if (table?.p != null) {
    sentences.push(
      `Zones of the ship by class: χ² of the table, the class names of ${table.units} units (single finds, pots, concretions) dealt out ${context.simulations} times among units of the same size; ${table.cells.length} cells, their p raised by Holm's (1979) procedure.`,
    );
  }
  if (summary.seasons) {
    sentences.push(
      'Each season is held to the ground it dug itself; rates along the keel and in zones have exact Poisson intervals (Garwood 1936).',
    );
  }
  if (context.simulations > 0) sentences.push(`Seed ${context.seed}, generator ${generatorName}.`);
  sentences.push(
    'Rate ratios hold finds to the dug area on each side; their intervals are exact binomial ones (Clopper & Pearson 1934).',
  );
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  return [
    ...aboutFinds(summary, context),
    ...aboutHull(summary, context),
    ...aboutZones(summary),
    ...(summary.side_reason ? [`Port and starboard are left out: ${summary.side_reason}.`] : []),
    ...(context.sample.shipAxis?.bowEnd === 'unresolved'
      ? ['Which end is the bow is not resolved: along_keel_m and off_keel_m may be the wrong way round.']
      : []),
  ];
}

function aboutFinds(summary: Summary, context: Context): string[] {
  const { n } = summary;
  const out: string[] = [];
  if (n === 0) return ['No find in the window: nothing to compare with the dug ground.'];
  if (n < 10) {
    out.push(
      `Only ${n} ${n === 1 ? 'find' : 'finds'}: read the distances, not the tests; the normal law behind Z1 and Z2 does not hold.`,
    );
  }
  if (context.coincident > 0) {
    out.push(
      `${context.coincident} of ${n} finds share their place with another: the tests take every find as fallen for itself, so heaps and children of one object make p too small.`,
    );
  }
  const sigma = median(context.sample.sigmaXy.filter((s) => !Number.isNaN(s)));
  const middle = summary.distance_m.median;
  if (sigma !== null && middle !== null && 3 * sigma > Math.abs(middle)) {
    out.push(
      `The middle position error is ${shown(sigma, 2)} m: no claim about distances below about ${shown(3 * sigma, 2)} m can stand.`,
    );
  }
  return out;
}

/** What the zones show, in one sentence. */
function aboutZones(summary: Summary): string[] {
  const table = summary.zones_by_class;
  if (!table || table.p === null) return [];
  const name = (zone: string | null) => zone ?? 'outside all zones';
  const seen = table.cells.filter((cell) => cell.p_holm !== null && cell.p_holm <= 0.05);
  if (table.p > 0.05) {
    return [
      `Zones of the ship: no class was seen to keep to a zone beyond what dealing names gives (p = ${shown(table.p)}, ${table.cells.length} cells), which does not show there is none.`,
    ];
  }
  const largest = [...(seen.length > 0 ? seen : table.cells)].sort(
    (a, b) => Math.abs(b.departure ?? 0) - Math.abs(a.departure ?? 0),
  );
  const list = largest
    .slice(0, 4)
    .map(
      ({ artefact_class: named, n, expected, zone }) =>
        `${named ?? 'class unknown'} ${n > expected ? 'more' : 'fewer'} in ${name(zone)} (${n} for ${shown(expected)})`,
    )
    .join('; ');
  const cells =
    seen.length > 0
      ? `${seen.length} of ${table.cells.length} cells stand after Holm: ${list}`
      : `no single one of ${table.cells.length} cells stands after Holm, the largest departures are ${list}`;
  return [
    `Zones of the ship: classes keep to zones (p = ${shown(table.p)}); ${cells}. Zones are drawn by the excavator, often from these very finds.`,
  ];
}

function aboutHull(summary: Summary, context: Context): string[] {
  const { hull, own } = context;
  const out: string[] = [];
  if (isEdge(own)) {
    return [
      'Digging stops where finds thin out, or where time and money do: the edge is no random line, and a fall towards it is partly made by the digger.',
      `${summary.trench_edge?.squares.length ?? 0} squares at the edge are each held to the rest: some stand out by chance; heaps of finds make their intervals too narrow.`,
    ];
  }
  if (own.line === null) {
    out.push(
      `Hull is known only where it was dug: ${summary.nearer_to_edge} of ${summary.n} finds lie nearer to the edge of the dug area than to the hull, and hull beyond that edge may be nearer still.`,
    );
  }
  if (own.line !== null || own.distance === 'axis') {
    out.push('The line has no ends: ground beyond the ends of the keel counts as near it.');
    return out;
  }
  if (summary.hull_features_left_out > 0) {
    out.push(
      `${summary.hull_features_left_out} hull features are left out (loose, displaced, or not among those chosen); ${summary.hull_features} are used.`,
    );
  }
  if (hull.unknownState > 0) {
    out.push(
      `${hull.unknownState} hull features are counted as articulated and in place though the record does not say so.`,
    );
  }
  if (own.outline === 'any' && hull.projected > 0) {
    out.push(`${hull.projected} of the hull features are projected, not seen; outline = surviving leaves them out.`);
  }
  if (own.distance === 'nearest' && context.atZero > 0) {
    out.push(
      `${shown(100 * context.atZero, 3)} % of the dug ground lies inside hull areas, at distance 0: the exact p of the gap is then too large, if anything; distance = outline tells depths inside apart.`,
    );
  }
  return out;
}
