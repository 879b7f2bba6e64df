import { tableOf as featuresOf } from '../../domain/columns.js';
import type { FeatureTable, Value } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import { fixedText, niceStep, numberText } from '../../figures/axes.js';
import { type PlanPlot, plotPlan } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import type { CellMesh } from '../../math/cell-mesh.js';
import { isobands } from '../../math/isolines.js';
import { cellCorners } from '../../math/level-cells.js';
import { contains, edgeSlack } from '../../math/rings.js';
import type { AnswerTable } from '../contract.js';
import { comparedCells, type SurfaceChange } from './change.js';
import { type ChosenMoments, momentName, sigmaWhenUnstatedM } from './choice.js';
import type { Parameters, Summary } from './schemas.js';

/** a little whiter than paper, so that compared ground shows */
const white = '#ffffff';

/** Everything table, layer, drawing and words of one comparison are made from. */
export interface ChangeDrawing {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly moments: ChosenMoments;
  readonly change: SurfaceChange;
  readonly summary: Summary;
}

const nodeFields: FeatureTable['fields'] = [
  { name: 'node', title: 'Node', type: 'text', distinct: true },
  { name: 'local_x', title: 'local_x', type: 'number', unit: 'm' },
  { name: 'local_y', title: 'local_y', type: 'number', unit: 'm' },
  { name: 'earlier_m', title: 'Elevation at the earlier time', type: 'number', unit: 'm' },
  { name: 'later_m', title: 'Elevation at the later time', type: 'number', unit: 'm' },
  { name: 'difference_m', title: 'Later less earlier', type: 'number', unit: 'm' },
  { name: 'sigma_m', title: 'Random error of the difference', type: 'number', unit: 'm' },
  { name: 'level_of_detection_m', title: 'Level of detection', type: 'number', unit: 'm' },
  { name: 'significant', title: 'Change beyond the level of detection', type: 'boolean' },
  { name: 'stable', title: 'Outside the dug area', type: 'boolean' },
  { name: 'read_between', title: 'Later surface read between its nodes', type: 'boolean' },
  { name: 'ground_m2', title: 'Ground the node stands for', type: 'number', unit: 'm2' },
];

function rowsOf({ change }: ChangeDrawing): Record<string, Value>[] {
  return change.nodes.map((node) => ({
    node: node.label,
    local_x: node.x,
    local_y: node.y,
    earlier_m: node.fromM,
    later_m: node.toM,
    difference_m: node.differenceM,
    sigma_m: node.sigmaM,
    level_of_detection_m: node.detectionM,
    significant: node.isSignificant,
    stable: node.isStable,
    read_between: node.isBetween,
    ground_m2: node.groundM2,
  }));
}

/** Every common node, the largest change first. */
export function tableOf(drawn: ChangeDrawing): AnswerTable {
  const rows = rowsOf(drawn);
  const order = rows
    .map((row, i) => ({ row, i, size: Math.abs(row['difference_m'] as number) }))
    .sort((a, b) => b.size - a.size || a.i - b.i);
  return {
    columns: nodeFields.map(({ name, title, unit }) => ({ name, title, ...(unit ? { unit } : {}) })),
    rows: order.map(({ row }) =>
      nodeFields.map(({ name }) => {
        const value = row[name];
        return typeof value === 'boolean' ? (value ? 'yes' : 'no') : value;
      }),
    ),
  };
}

/** The common nodes with their difference. */
export function nodesLayer(drawn: ChangeDrawing): FeatureTable {
  return featuresOf({
    name: 'surface-change',
    fields: nodeFields,
    rows: rowsOf(drawn),
    geometry: { type: 'point', coordinates: Float64Array.from(drawn.change.nodes.flatMap(({ x, y }) => [x, y])) },
  });
}

function changeMesh({ nodes, lattices }: SurfaceChange): CellMesh {
  const corners = lattices.flatMap((lattice) =>
    comparedCells(lattice).flatMap(({ column, row }) => {
      const [sw, se, nw, ne] = cellCorners(lattice, column, row);
      return [sw, se, ne, nw];
    }),
  );
  return {
    x: Float64Array.from(nodes, (n) => n.x),
    y: Float64Array.from(nodes, (n) => n.y),
    z: Float64Array.from(nodes, (n) => n.differenceM),
    corners: Uint32Array.from(corners),
  };
}

/** Levels from the edge of the level of detection outwards, alike on both sides. */
function levelsOf(detectionM: number, largestM: number): number[] {
  const step = niceStep(Math.max(largestM - detectionM, detectionM, 1e-3), 4);
  const out = [detectionM];
  for (let k = 1; detectionM + k * step < largestM && k < 8; k++) out.push(detectionM + k * step);
  const decimals = (v: number) => Number(v.toFixed(4));
  return [
    -Infinity,
    ...out
      .slice(1)
      .reverse()
      .map((v) => decimals(-v)),
    decimals(-detectionM),
    ...out.map(decimals),
  ];
}

function bandsOf(change: SurfaceChange, detectionM: number): NonNullable<PlanPlot['bands']> {
  const mesh = changeMesh(change);
  const largest = change.nodes.reduce((most, node) => Math.max(most, Math.abs(node.differenceM)), 0);
  const levels = levelsOf(Math.max(detectionM, 1e-4), largest);
  const rings = (band: { rings: readonly Float64Array[] }) =>
    band.rings.map((ring) =>
      Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]] as const),
    );
  // the lowest band has no lower end: it is drawn as far below as the highest lies above
  const lowest = levels.length > 2 ? 2 * levels[1] - levels[2] : levels[1];
  return isobands(mesh, levels)
    .map((band, i) => {
      const level = i === 0 ? lowest : band.level;
      const inside = levels[i] < 0 && (levels[i + 1] ?? 0) > 0;
      return {
        level,
        rings: rings(band),
        ...(inside
          ? { look: { name: `inside ± ${fixedText(detectionM, 3)} m, the level of detection`, colour: white } }
          : i === 0
            ? { look: { name: `later less earlier, ${fixedText(levels[1], 3)} m and less` } }
            : {}),
      };
    })
    .filter((band) => band.rings.length > 0);
}

/** Two hues, white inside the level of detection; nodes beyond it marked. */
export function figureOf(drawn: ChangeDrawing): Scene {
  const { sample, change, summary, moments } = drawn;
  const slack = edgeSlack(sample.window);
  const isInside = change.nodes.every((node) => node.groundM2 === 0 || contains(sample.window, node.x, node.y, slack));
  const at = (keep: (node: SurfaceChange['nodes'][number]) => boolean) =>
    change.nodes.filter(keep).map((node) => [node.x, node.y] as const);
  const groups = [
    { name: 'common nodes', points: at((n) => !n.isSignificant), style: 'ink' as const },
    {
      name: 'rise beyond detection',
      points: at((n) => n.isSignificant && n.differenceM > 0),
      style: 'class1' as const,
    },
    {
      name: 'fall beyond detection',
      points: at((n) => n.isSignificant && n.differenceM < 0),
      style: 'class2' as const,
    },
  ].filter((group) => group.points.length > 0);
  return plotPlan({
    title: `Change of ${moments.surface} from ${momentName(moments.from)} to ${momentName(moments.to)}`,
    subtitle: `significant: ${fixedText(summary.raised.volume_m3, 2)} m³ up, ${fixedText(-summary.lowered.volume_m3, 2)} m³ down over ${numberText(summary.compared_m2)} m² compared; ${summary.significant_nodes} of ${summary.n} nodes`,
    // squares beyond the dug area were compared too: its hatching would hide them
    window:
      isInside && sample.window.rings.length > 0
        ? sample.window.rings.map((ring) =>
            Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]] as const),
          )
        : [],
    bands: bandsOf(change, summary.level_of_detection_m),
    bandName: 'later less earlier',
    bandUnit: 'm',
    ramp: 'difference',
    groups,
    ...(sample.mapAzimuthDeg === 0
      ? {}
      : { norths: [{ name: 'map_grid_north', fromSiteNorthDeg: -sample.mapAzimuthDeg }] }),
    notes: [
      `${summary.n} common nodes; level of detection ± ${fixedText(summary.level_of_detection_m, 3)} m at ${numberText(100 * summary.confidence)} %`,
      summary.stable
        ? `stable nodes: ${summary.stable.nodes}, shift ${fixedText(summary.stable.median_m, 3)} ± ${fixedText(summary.stable.sigma_m, 3)} m`
        : 'stable nodes: too few to tell a shift',
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}

/** The paragraph for a methods section. */
export function methodsOf({ sample, own, moments, change, summary }: ChangeDrawing): string {
  const random =
    own.sigma_random_m === null
      ? `each reading's stated error${moments.unstatedSigmas > 0 ? ` (${sigmaWhenUnstatedM} m where none is stated)` : ''}`
      : `${own.sigma_random_m} m a reading`;
  const shared =
    change.removedShiftM === 0 && own.stable_shift === 'report'
      ? `a shared error of ${own.sigma_shared_m} m between the seasons`
      : `the median shift of the stable nodes (${fixedText(change.removedShiftM, 3)} m) taken off and its error of ${fixedText(change.sigmaSharedM, 3)} m as the shared one`;
  return [
    `Change of ${moments.surface} from ${momentName(moments.from)} to ${momentName(moments.to)} at ${summary.n} common nodes${summary.read_between > 0 ? `, at ${summary.read_between} of them the later surface read bilinearly between its own nodes` : ''}; ${numberText(summary.compared_m2)} m² of squares with four common nodes (dug area ${numberText(sample.windowAreaM2)} m², ${sample.windowSource}).`,
    `Level of detection at ${numberText(100 * own.confidence)} % from ${random} and ${shared} (Lane, Westaway & Hicks 2003; Brasington, Langham & Rumsby 2003); area and volume of change from nodes beyond it, each with the ground it stands for (Wheaton et al. 2010).`,
    'Stable nodes lie outside all dug areas; their shift is a median, its error from the median absolute deviation, at least that of the stated errors.',
  ].join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf({ moments, summary, own, change }: ChangeDrawing): string[] {
  const out: string[] = [];
  if (moments.isChosen) {
    out.push(
      `${momentName(moments.from)} and ${momentName(moments.to)} were chosen because they share most nodes; name from_season and to_season for others.`,
    );
  }
  if (summary.stable === null) {
    out.push(
      'Fewer than three common nodes lie outside the dug area: whether the two seasons stand in one level cannot be told from these data.',
    );
  } else if (summary.stable.is_shifted) {
    out.push(
      own.stable_shift === 'remove'
        ? `The stable nodes had shifted by ${fixedText(summary.stable.median_m, 3)} m (± ${fixedText(summary.stable.sigma_m, 3)} m); this was taken off.`
        : `The stable nodes shifted by ${fixedText(summary.stable.median_m, 3)} m (± ${fixedText(summary.stable.sigma_m, 3)} m), more than their error: datum or tide rather than ground; stable_shift = remove takes it off.`,
    );
  }
  if (own.stable_shift === 'remove' && summary.stable === null) {
    out.push('No shift was taken off: there are too few stable nodes to know it.');
  }
  if (summary.n < 10) out.push(`Only ${summary.n} common nodes: look at each, not at the totals.`);
  if (summary.compared_m2 === 0) out.push('No square has all four nodes in both seasons: there is no area or volume.');
  const loose = change.nodes.filter((node) => node.groundM2 === 0).length;
  if (loose > 0 && summary.compared_m2 > 0) {
    out.push(`${loose} common nodes belong to no square with four of them and stand for no ground.`);
  }
  out.push(
    `${summary.n} nodes were tested, each for itself; by chance alone about ${numberText(summary.expected_by_chance, { digits: 2 })} would stand out.`,
  );
  if (summary.read_between > 0) {
    out.push(
      `At ${summary.read_between} nodes the later grid lay elsewhere and its surface was read between its nodes, which smooths it.`,
    );
  }
  if (moments.unstatedSigmas > 0) {
    out.push(`${moments.unstatedSigmas} readings state no error; ${sigmaWhenUnstatedM} m is supposed.`);
  }
  return out;
}
