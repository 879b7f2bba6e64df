import type { Sample } from '../../domain/sample.js';
import { type MatrixCell, type MatrixJoining, plotMatrix } from '../../figures/matrix-plot.js';
import type { Scene } from '../../figures/scene.js';
import type { PairRow, Summary } from './schemas.js';

/** ratios this many times over or under one have the full colour */
const fullRatio = 8;
const level = 0.05;

/** Place of a ratio on a ramp that parts at 1: equal steps for equal factors. */
function ratioShare(ratio: number): number {
  const steps = Math.log2(Math.min(fullRatio, Math.max(1 / fullRatio, ratio))) / Math.log2(fullRatio);
  return (steps + 1) / 2;
}

const ratioText = (ratio: number) => (ratio >= 9.95 ? ratio.toFixed(0) : ratio.toFixed(ratio < 0.995 ? 2 : 1));

const empty: MatrixCell = { share: null, ramp: 'difference', text: '–', strength: 'faint' };
const isClear = (p: number | null): MatrixCell['strength'] => (p !== null && p <= level ? 'clear' : 'faint');

/** All classes against each other: near pairs above the diagonal, shares of squares below, own neighbours on it. */
export function matrixFigure(summary: Summary, sample: Sample): Scene {
  const { dixon, tree } = summary;
  const inTree = new Set(tree.order);
  const order = [...tree.order, ...dixon.classes.filter((name) => !inTree.has(name))];
  const number = new Map(dixon.classes.map((name, k) => [name, k]));
  const rows = new Map<string, PairRow>();
  for (const row of summary.pairs) {
    rows.set(`${row.first}|${row.second}`, row);
    rows.set(`${row.second}|${row.first}`, row);
  }
  const own = (name: string): MatrixCell => {
    const k = number.get(name) ?? 0;
    const expected = dixon.expected[k][k];
    const ratio = dixon.table[k][k] / expected;
    if (!(expected > 0)) return empty;
    const p = dixon.p_cell_holm[k][k];
    return {
      share: p === null ? null : ratioShare(ratio),
      ramp: 'difference',
      text: ratioText(ratio),
      strength: isClear(p),
    };
  };
  return plotMatrix({
    title: 'Which classes lie together and which apart',
    subtitle: summary.sentence,
    labels: order,
    cell(row, column) {
      if (row === column) return own(order[row]);
      const pair = rows.get(`${order[row]}|${order[column]}`);
      if (column > row) {
        if (!pair || pair.ratio === null) return empty;
        const strength = pair.reading === 'cannot tell' ? 'faint' : 'clear';
        const share = pair.p === null ? null : ratioShare(pair.ratio);
        return { share, ramp: 'difference', text: ratioText(pair.ratio), strength };
      }
      const likeness = pair?.robinson_brainerd;
      if (!likeness || likeness.value === null) return { ...empty, ramp: 'amount' };
      return {
        share: likeness.p === null ? null : likeness.value / 200,
        ramp: 'amount',
        text: likeness.value.toFixed(0),
        strength: isClear(likeness.p_holm),
      };
    },
    parts: [
      {
        name: `above the diagonal: pairs within reach, over those when names are dealt out; on it: own nearest neighbours likewise. Brown 1/${fullRatio} or fewer, white as chance, violet ${fullRatio} times or more`,
        ramp: 'difference',
      },
      {
        name: 'below the diagonal: Robinson–Brainerd over squares, 0 nothing in common to 200 the same shares everywhere',
        ramp: 'amount',
      },
    ],
    ...(tree.joinings.length > 0 ? { tree: joiningsInOrder(summary) } : {}),
    notes: [
      `n = ${summary.n}, window ${Number(summary.window_area_m2.toPrecision(6))} m², ${sample.windowSource}`,
      'bold in full colour: stands after allowing for all pairs (Holm, 5 %); thin: may be chance; no colour: not tested (few finds, or no dealing moves them)',
      `distances ${summary.distances_m.map((d) => Number(d.toPrecision(3))).join(', ')} m: of each pair the one that departs most; ${summary.simulations} dealings`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
      ...sample.excluded.map(({ reason, count }) => `${count} left out: ${reason}`),
    ],
  });
}

/** The tree's joinings with classes numbered by their rows. */
function joiningsInOrder({ tree, dixon }: Summary): MatrixJoining[] {
  const n = tree.classes.length;
  const most = tree.by === 'jaccard' ? 1 : 200;
  const labels = dixon.classes.length;
  const rowOf = (k: number) => (k < n ? tree.order.indexOf(tree.classes[k]) : k - n + labels);
  return tree.joinings.map(({ left, right, likeness }) => ({
    left: rowOf(left),
    right: rowOf(right),
    share: 1 - likeness / most,
  }));
}
