import type { Sample } from '../../domain/sample.js';
import { type Curve, plotCurves } from '../../figures/plots.js';
import type { Scene } from '../../figures/scene.js';
import type { FindDepths } from './depths.js';
import type { Groups } from './groups.js';
import type { Summary } from './schemas.js';

/** Never more than eight classes at a time on one drawing. */
const mostCurves = 8;
const mostSteps = 400;

/** Share of finds down to each relative depth, for the two groups compared or the classes with most finds. */
export function depthFigure(of: {
  readonly sample: Sample;
  readonly depths: FindDepths;
  readonly members: readonly number[];
  readonly summary: Summary;
  readonly groups: Groups | null;
}): Scene {
  const { sample, depths, members, summary, groups } = of;
  const named: { name: string; members: readonly number[] }[] = groups
    ? ([0, 1] as const).map((label) => ({
        name: label === 0 ? groups.first : groups.second,
        members: members.filter((i) => groups.of(i) === label),
      }))
    : summary.by_class
        .map((row) => ({
          name: row.artefact_class ?? 'class unknown',
          members: members.filter((i) => className(sample, i) === row.artefact_class),
        }))
        .sort((a, b) => b.members.length - a.members.length)
        .slice(0, mostCurves);
  const shown = named.filter((group) => group.members.length > 0);
  const curves = shown.map(
    (group, k): Curve => ({
      name: `${group.name}, ${group.members.length} finds`,
      ...stepsOf(group.members.map((i) => depths.u[i])),
      style: `class${(k + 1) as 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8}`,
      steps: true,
    }),
  );
  const hidden = summary.by_class.filter((row) => row.n > 0).length - shown.length;
  return plotCurves({
    title: 'Depth in the deposit',
    subtitle: summary.sentence,
    xTitle: `relative depth: 0 top of the deposit, 1 ${summary.lower_surface.replace('_', ' ')}`,
    yTitle: 'share of finds down to that depth',
    curves: [{ name: 'spread evenly from top to bottom', x: [0, 1], y: [0, 1], style: 'reference' }, ...curves],
    notes: [
      `n = ${summary.n} of ${sample.xy.length / 2}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
      ...(groups === null && hidden > 0 ? [`${hidden} classes with fewer finds are not drawn`] : []),
      ...summary.left_out.map(({ reason, count }) => `${count} left out: ${reason}`),
    ],
  });
}

function className(sample: Sample, i: number): string | null {
  return sample.classCode[i] === 0 ? null : sample.classes[sample.classCode[i] - 1];
}

/** A step for each find, or at even ranks when they are too many to tell apart. */
function stepsOf(values: readonly number[]): { x: number[]; y: number[] } {
  const sorted = [...values].sort((a, b) => a - b);
  const n = sorted.length;
  const ranks =
    n <= mostSteps
      ? [...sorted.keys()]
      : Array.from({ length: mostSteps }, (_, k) => Math.ceil(((k + 1) / mostSteps) * n) - 1);
  return { x: [sorted[0], ...ranks.map((i) => sorted[i])], y: [0, ...ranks.map((i) => (i + 1) / n)] };
}
