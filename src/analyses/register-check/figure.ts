import type { Sample } from '../../domain/sample.js';
import { type PointGroup, plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import { areaText } from '../../figures/sentence.js';
import type { Kind, Oddity, Summary } from './schemas.js';

type Corner = readonly [number, number];

const corners = (ring: Float64Array): Corner[] =>
  Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);

const groups: readonly { name: string; style: PointGroup['style']; sizeMm: number; kinds: readonly Kind[] }[] = [
  { name: 'find without an elevation', style: 'class8', sizeMm: 0.8, kinds: ['find_without_elevation'] },
  {
    name: 'identical coordinates, no class, season or parent',
    style: 'class3',
    sizeMm: 0.9,
    kinds: ['identical_coordinates', 'class_unknown', 'season_unknown', 'child_without_parent'],
  },
  { name: 'find above the top or below the bottom', style: 'class2', sizeMm: 1, kinds: ['above_top', 'below_bottom'] },
  {
    name: 'find outside its square or the dug ground',
    style: 'class6',
    sizeMm: 1.6,
    kinds: ['outside_stated_square', 'find_outside_dug_ground'],
  },
  { name: 'node without top or bottom', style: 'class1', sizeMm: 1.5, kinds: ['missing_node'] },
  {
    name: 'square without a surface, part dug or open',
    style: 'class4',
    sizeMm: 1.8,
    kinds: ['square_without_top', 'square_without_bottom', 'part_dug_square', 'open_square'],
  },
  {
    name: 'level spike, or readings that differ',
    style: 'class5',
    sizeMm: 1.6,
    kinds: ['neighbour_spike', 'several_readings'],
  },
  {
    name: 'inverted node, or series with an offset',
    style: 'class7',
    sizeMm: 2.2,
    kinds: ['inverted_node', 'series_offset'],
  },
];

/** Every row with a place on the plan of the dug ground, by kind; the gravest are drawn last. */
export function registerFigure(sample: Sample, summary: Summary): Scene {
  const placeOf = ({ x_m, y_m }: Oddity): Corner[] => (x_m === null || y_m === null ? [] : [[x_m, y_m]]);
  return plotPlan({
    title: 'Register and levels: plausible but odd',
    subtitle: summary.sentence,
    window: sample.window.rings.map(corners),
    hull: sample.hull.flatMap((element) =>
      element.parts.map((part) => ({ closed: element.type === 'area', points: corners(part) })),
    ),
    groups: groups
      .map(({ kinds, ...look }) => ({
        ...look,
        points: summary.rows.filter((row) => kinds.includes(row.kind)).flatMap(placeOf),
      }))
      .filter((group) => group.points.length > 0),
    notes: [
      `${summary.n} finds, ${summary.levels} level readings, ${summary.squares} dug squares`,
      `window ${areaText(sample.windowAreaM2)}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}
