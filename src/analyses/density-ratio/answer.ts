import { tableOf as featureTableOf, shapes } from '../../domain/columns.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import { type PlanOutline, plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import { denominatorSide, numeratorSide } from '../../math/density-ratio.js';
import { type Region, ringArea } from '../../math/rings.js';
import type { AnswerTable } from '../contract.js';
import type { Summary } from './schemas.js';
import type { Sides } from './sides.js';
import type { RatioBand } from './surface.js';
import type { ToleranceArea } from './tolerance.js';

const shown = (value: number, digits = 3): string => String(Number(value.toPrecision(digits)));

/** One row for each tolerance area: its side, size, finds and most extreme ratio. */
export function tableOf(areas: readonly ToleranceArea[]): AnswerTable {
  return {
    columns: [
      { name: 'area', title: 'Tolerance area' },
      { name: 'side', title: 'Numerator is' },
      { name: 'area_m2', title: 'Area', unit: 'm2' },
      { name: 'finds_numerator', title: 'Finds of the numerator in it', unit: '1' },
      { name: 'finds_denominator', title: 'Finds of the denominator in it', unit: '1' },
      { name: 'ratio', title: 'Most extreme ratio of the densities', unit: '1' },
      { name: 'log_ratio', title: 'Its logarithm', unit: '1' },
      { name: 'p_pointwise', title: 'Smallest rank p at a place (pointwise)', unit: '1' },
    ],
    rows: areas.map((area, k) => [
      k + 1,
      sideWords[area.side],
      area.areaM2,
      area.findsNumerator,
      area.findsDenominator,
      area.logRatio === null ? null : Math.exp(area.logRatio),
      area.logRatio,
      area.p,
    ]),
  };
}

const sideWords = { higher: 'thicker than chance', lower: 'thinner than chance' } as const;

/** The tolerance areas as a layer. */
export function areasLayer(areas: readonly ToleranceArea[]): FeatureTable {
  return featureTableOf({
    name: 'tolerance-areas',
    fields: [
      { name: 'side', title: 'Numerator is', type: 'text' },
      { name: 'area_m2', title: 'Area', type: 'number', unit: 'm2' },
      { name: 'finds_numerator', title: 'Finds of the numerator in it', type: 'integer', unit: '1' },
      { name: 'finds_denominator', title: 'Finds of the denominator in it', type: 'integer', unit: '1' },
      { name: 'log_ratio', title: 'Most extreme log ratio', type: 'number', unit: '1' },
      { name: 'p_pointwise', title: 'Smallest rank p at a place (pointwise)', type: 'number', unit: '1' },
    ],
    rows: areas.map((area) => ({
      side: sideWords[area.side],
      area_m2: area.areaM2,
      finds_numerator: area.findsNumerator,
      finds_denominator: area.findsDenominator,
      log_ratio: area.logRatio,
      p_pointwise: area.p,
    })),
    geometry: shapes(
      'area',
      areas.map(({ region }) =>
        region.rings.map((ring) => (ringArea(ring) < 0 ? { ring, hole: true as const } : { ring })),
      ),
    ),
  });
}

const corners = (ring: Float64Array): [number, number][] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

const ringsOf = (region: Region) => region.rings.map(corners);

/** The plan: bands of the ratio on the ground compared, tolerance contours, finds of both sides, hull. */
export function ratioFigure(
  summary: Summary,
  drawn: {
    readonly sample: Sample;
    readonly sides: Sides;
    readonly bands: readonly RatioBand[];
    readonly areas: readonly ToleranceArea[];
  },
): Scene {
  const { sample, sides, areas } = drawn;
  const outline = (area: ToleranceArea): PlanOutline[] =>
    ringsOf(area.region).map((points) => ({
      name: `${sideWords[area.side]}, pointwise p ${summary.pointwise?.level ?? ''}`,
      points,
      style: area.side === 'higher' ? 'class3' : 'class7',
    }));
  const places = (isOf: (side: number) => boolean) =>
    sides.member.filter((_, k) => isOf(sides.side[k])).map((i) => [sample.xy[2 * i], sample.xy[2 * i + 1]] as const);
  return plotPlan({
    title: `${summary.numerator} against ${summary.denominator}`,
    subtitle: summary.reading,
    // not dug is one thing, dug by one side only another: what is compared has the ink
    window: ringsOf(sample.window),
    bands: drawn.bands.map(({ level, region, name, colour }) => ({
      level,
      rings: ringsOf(region),
      look: { name, colour },
    })),
    bandName: 'ratio of densities',
    ramp: 'difference',
    groups: [
      { name: summary.numerator, points: places((side) => (side & numeratorSide) !== 0), style: 'ink' },
      ...(summary.denominator === 'all finds'
        ? []
        : [
            {
              name: summary.denominator,
              points: places((side) => side === denominatorSide),
              style: 'class5' as const,
            },
          ]),
    ],
    hull: sample.hull.flatMap((element) =>
      element.parts.map((part) => ({ closed: element.type === 'area', points: corners(part) })),
    ),
    outlines: areas.flatMap(outline),
    ...(sample.mapAzimuthDeg === 0
      ? {}
      : { norths: [{ name: 'map_grid_north', fromSiteNorthDeg: -sample.mapAzimuthDeg }] }),
    notes: [
      `ratio of densities, relative to ${shown(summary.overall_ratio)} overall; kernel ${shown(summary.bandwidth_m)} m`,
      `n ${summary.n_numerator} and ${summary.n_denominator}`,
      `compared ${shown(summary.shared_area_m2, 4)} m² of the window, ${shown(summary.window_area_m2, 4)} m²: ${sample.windowSource}`,
      ...(summary.masked_area_m2 > 0 ? [`no ink: denominator too thin, ${shown(summary.masked_area_m2)} m²`] : []),
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}
