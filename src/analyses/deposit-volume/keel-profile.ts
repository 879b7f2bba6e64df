import { type AxisEnds, alongAxis } from '../../math/along-line.js';
import { blockBootstrapMeans, type ClassMean } from '../../math/block-bootstrap.js';

/** Thickness of the nodes abreast of the keel in strips of equal distance from it. */
export interface KeelProfile {
  readonly binM: number;
  readonly blockM: number;
  readonly blocks: number;
  /** nodes used; those before the bow end or abaft the after end are not */
  readonly n: number;
  readonly strips: readonly ({ readonly fromM: number; readonly toM: number } & ClassMean)[];
}

/**
 * Mean thickness against signed distance from the keel (positive to port), with a band from blocks of neighbouring
 * nodes drawn with replacement: lengths of the keel with all nodes abreast of them.
 *
 * @param nodes  places and thickness of nodes with both levels
 * @returns      null when no node lies abreast of the keel
 */
export function keelProfile(
  nodes: { readonly xy: Float64Array; readonly thickness: Float64Array },
  axis: AxisEnds,
  plan: {
    readonly binM: number;
    readonly blockM: number;
    readonly count: number;
    readonly seed: number;
    readonly progress: (share: number) => void;
  },
): KeelProfile | null {
  const length = Math.hypot(axis.bow[0] - axis.after[0], axis.bow[1] - axis.after[1]);
  if (!(length > 0)) return null;
  const places = alongAxis(nodes.xy, axis);
  const abreast = Array.from(places.keys()).filter((i) => places[i].alongM >= 0 && places[i].alongM <= length);
  if (abreast.length === 0) return null;
  const { binM, blockM } = plan;
  const bins = abreast.map((i) => Math.floor(places[i].offM / binM));
  const first = Math.min(...bins);
  const block = Int32Array.from(abreast, (i) => Math.floor(places[i].alongM / blockM));
  const strips = blockBootstrapMeans(
    {
      value: Float64Array.from(abreast, (i) => nodes.thickness[i]),
      class: Int32Array.from(bins, (b) => b - first),
      classes: Math.max(...bins) - first + 1,
      block,
    },
    plan,
  );
  return {
    binM,
    blockM,
    blocks: new Set(block).size,
    n: abreast.length,
    strips: strips.map((strip, k) => ({ fromM: (first + k) * binM, toM: (first + k + 1) * binM, ...strip })),
  };
}
