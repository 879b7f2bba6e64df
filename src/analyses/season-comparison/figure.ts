import type { Sample } from '../../domain/sample.js';
import { type IntervalRow, plotIntervals } from '../../figures/interval-plot.js';
import type { Scene } from '../../figures/scene.js';
import type { PairRow, SeasonRow, Summary } from './schemas.js';
import { unitText } from './words.js';

type Ratio = PairRow['per_m2'];

const ratioRow = (name: string, ratio: Ratio): IntervalRow => ({
  name,
  value: ratio.value,
  low: ratio.low,
  high: ratio.high,
  inner: { low: ratio.exact_low, high: ratio.exact_high },
});

/** pairs that are drawn; the others stand in the table */
const mostPairs = 10;

/** Rates of the seasons with their intervals, and what they are to each other. */
export function seasonsFigure(summary: Summary, sample: Sample): Scene {
  const { seasons, pairs } = summary;
  const area = (row: SeasonRow): IntervalRow => ({
    name: row.season,
    value: row.per_m2,
    low: row.per_m2_low,
    high: row.per_m2_high,
    inner: { low: row.per_m2_exact_low, high: row.per_m2_exact_high },
  });
  const deposit = (row: SeasonRow): IntervalRow => ({
    name: row.season,
    value: row.per_m3,
    low: row.per_m3_low,
    high: row.per_m3_high,
    inner: { low: row.per_m3_exact_low, high: row.per_m3_exact_high },
  });
  const shown = pairs.slice(0, mostPairs);
  const ratios = shown.flatMap((pair) => [
    ratioRow(`${pair.second} to ${pair.first}`, pair.per_m2),
    ...(pair.shared
      ? [
          ratioRow(
            `${pair.shared_squares} shared ${pair.shared_squares === 1 ? 'square' : 'squares'}`,
            pair.shared.per_m2,
          ),
        ]
      : []),
  ]);
  const deep = shown.flatMap((pair) => (pair.per_m3 ? [ratioRow(`${pair.second} to ${pair.first}`, pair.per_m3)] : []));
  const what = unitText[summary.count_unit];
  return plotIntervals({
    title: 'Seasons compared',
    subtitle: summary.sentence,
    panels: [
      { title: `${what} per m² dug`, rows: seasons.map(area), scale: 'amount' as const },
      ...(seasons.some((row) => row.per_m3 !== null)
        ? [{ title: `${what} per m³ of deposit`, rows: seasons.map(deposit), scale: 'amount' as const }]
        : []),
      ...(ratios.length > 0 ? [{ title: 'Ratio of rates per m²', rows: ratios, scale: 'ratio' as const }] : []),
      ...(deep.length > 0 ? [{ title: 'Ratio of rates per m³', rows: deep, scale: 'ratio' as const }] : []),
    ],
    intervalName: '95 % interval, widened by how unevenly finds lie over squares',
    innerName: '95 % interval if finds fell one by one',
    notes: [
      `n = ${summary.n}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
      ...(pairs.length > mostPairs ? [`${pairs.length - mostPairs} more pairs stand in the table`] : []),
      ...sample.excluded.map(({ reason, count }) => `${count} without a position of their own: ${reason}`),
    ],
  });
}
