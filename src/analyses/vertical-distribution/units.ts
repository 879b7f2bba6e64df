import type { Sample } from '../../domain/sample.js';
import { regionBox } from '../../math/rings.js';
import type { DepthUnits } from './comparison.js';
import type { FindDepths } from './depths.js';

/** Units of a sample with the values the questions need; all arrays [units]. */
export interface GatheredUnits extends DepthUnits {
  /** finds in each unit */
  readonly finds: Float64Array;
  readonly elevation: Float64Array;
  readonly belowTopM: Float64Array;
  readonly aboveBottomM: Float64Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/**
 * Gathers finds to units: finds of one concretion, and sherds of one pot vessel, that lie in one square and carry one
 * label count once, with their mean depth. They came down together, and as single finds would make p too small.
 *
 * @param members  positions with a relative depth
 * @param labelOf  0-based label of a position
 * @param blockM   side of the squares where a find names none
 */
export function gatherUnits(
  sample: Sample,
  depths: FindDepths,
  of: {
    readonly members: readonly number[];
    readonly labelOf: (i: number) => number;
    readonly labels: number;
    readonly blockM: number;
  },
): GatheredUnits {
  const { detail } = sample;
  const corner = sample.grid === null ? regionBox(sample.window) : [0, 0];
  const blocks = new Map<string, number>();
  const units = new Map<string, number[]>();
  const blockOfUnit: number[] = [];
  for (const i of of.members) {
    const square = squareOf(sample, i, { corner, blockM: of.blockM });
    let block = blocks.get(square);
    if (block === undefined) {
      block = blocks.size;
      blocks.set(square, block);
    }
    const group = detail.potVessel[i] ?? detail.concretion[i];
    const kind = detail.potVessel[i] === null ? 'concretion' : 'pot';
    const key = group === null ? `find ${i}` : `${kind} ${group} ${block} ${of.labelOf(i)}`;
    const unit = units.get(key);
    if (unit) unit.push(i);
    else {
      units.set(key, [i]);
      blockOfUnit.push(block);
    }
  }
  const lists = [...units.values()];
  const meanOf = (value: (i: number) => number) =>
    Float64Array.from(lists, (own) => own.reduce((sum, i) => sum + value(i), 0) / own.length);
  return {
    block: Uint32Array.from(blockOfUnit),
    label: Uint32Array.from(lists, ([first]) => of.labelOf(first)),
    labels: of.labels,
    u: meanOf((i) => depths.u[i]),
    finds: Float64Array.from(lists, (own) => own.length),
    elevation: meanOf((i) => depths.elevation[i]),
    belowTopM: meanOf((i) => depths.belowTopM[i]),
    aboveBottomM: meanOf((i) => depths.aboveBottomM[i]),
    x: meanOf((i) => sample.xy[2 * i]),
    y: meanOf((i) => sample.xy[2 * i + 1]),
  };
}

/** The square a find names, else a square of `blockM` counted from a corner. */
function squareOf(sample: Sample, i: number, blocks: { corner: readonly number[]; blockM: number }): string {
  const named = sample.detail.square[i];
  if (named !== null) return named;
  const column = Math.floor((sample.xy[2 * i] - blocks.corner[0]) / blocks.blockM);
  const row = Math.floor((sample.xy[2 * i + 1] - blocks.corner[1]) / blocks.blockM);
  return `${column} ${row}`;
}
