import type { Sample } from '../../domain/sample.js';
import type { PairPattern } from '../../math/k-function.js';
import { regionArea, regionBox, shiftRegion } from '../../math/rings.js';
import { Problem } from '../../problems.js';

/** The finds asked about and their window, counted from the window's lower-left corner. */
export interface Ground extends PairPattern {
  /** positions in the sample of the finds of the first type */
  readonly fromMembers: readonly number[];
  /** the same of the second type; the same list when there is one type only */
  readonly toMembers: readonly number[];
  readonly isCross: boolean;
  /** the types in words */
  readonly fromName: string;
  readonly toName: string;
  /** [2k] every find of the seasons, the chosen ones among them, for labelling of one class */
  readonly crowd: Float64Array;
}

/**
 * Picks the finds of each type and moves everything to a local origin: map coordinates would cost digits.
 * @throws Problem no-window, bad-parameter for one type without the other or a class on both sides, unknown-class
 */
export function groundOf(
  sample: Sample,
  asked: { readonly from: readonly string[] | null; readonly to: readonly string[] | null },
): Ground {
  const [west, south] = regionBox(sample.window);
  const window = shiftRegion(sample.window, west, south);
  const areaM2 = regionArea(window);
  if (!(areaM2 > 0)) throw new Problem('no-window', 'the window has no area; name seasons with excavated areas');
  const local = (xy: Float64Array) => xy.map((v, i) => v - (i % 2 === 0 ? west : south));
  const all = local(sample.xy);
  const pick = (members: readonly number[]) => Float64Array.from(members.flatMap((i) => [all[2 * i], all[2 * i + 1]]));
  const shared = { window, areaM2, crowd: local(sample.others.xy) };
  const { from, to } = asked;
  if (from === null && to === null) {
    const everyone = Array.from({ length: all.length / 2 }, (_, i) => i);
    return {
      ...shared,
      from: all,
      to: all,
      fromMembers: everyone,
      toMembers: everyone,
      isCross: false,
      fromName: 'finds',
      toName: 'finds',
    };
  }
  if (from === null || to === null) {
    throw new Problem(
      'bad-parameter',
      `input ${from === null ? 'from' : 'to'}: two types need both \`from\` and \`to\`; for one class alone leave both out and choose it with artefact_class`,
      { parameter: from === null ? 'from' : 'to' },
    );
  }
  const common = from.find((name) => to.includes(name));
  if (common !== undefined) {
    throw new Problem(
      'bad-parameter',
      `input to: class "${common}" stands on both sides; for one class among itself leave \`from\` and \`to\` out and choose it with artefact_class`,
      { parameter: 'to' },
    );
  }
  const fromMembers = membersOf(sample, from);
  const toMembers = membersOf(sample, to);
  return {
    ...shared,
    from: pick(fromMembers),
    to: pick(toMembers),
    fromMembers,
    toMembers,
    isCross: true,
    fromName: from.join(', '),
    toName: to.join(', '),
  };
}

function membersOf(sample: Sample, names: readonly string[]): number[] {
  const codes = names.map((name) => {
    const code = sample.classes.indexOf(name) + 1;
    if (code === 0) {
      const known = sample.classes.length === 0 ? 'the finds have no classes' : sample.classes.join(', ');
      throw new Problem('unknown-class', `class "${name}" is not among the finds chosen; there are: ${known}`, {
        class: name,
      });
    }
    return code;
  });
  const chosen = new Set(codes);
  return Array.from(sample.classCode.keys()).filter((i) => chosen.has(sample.classCode[i]));
}
