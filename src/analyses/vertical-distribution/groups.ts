import type { Sample } from '../../domain/sample.js';
import { Problem } from '../../problems.js';
import type { Parameters } from './schemas.js';
import { densities } from './trends.js';

/** Two groups of finds to compare. */
export interface Groups {
  readonly first: string;
  readonly second: string;
  /** 0 first, 1 second, −1 neither */
  of(position: number): 0 | 1 | -1;
}

/**
 * Which two groups an answer compares: later finds and the ship's, the classes named, or the only two classes there
 * are; null = each class stands against the rest.
 * @throws Problem unknown-class, bad-parameter
 */
export function groupsOf(sample: Sample, own: Parameters): Groups | null {
  if (own.question === 'keel_distance') return null;
  if (own.question === 'intrusive') {
    return {
      first: 'finds later than the wreck',
      second: 'the ship’s finds',
      of: (i) => ([-1, 1, 0] as const)[sample.detail.intrusive[i]],
    };
  }
  const present = [...new Set(sample.classCode)].filter((code) => code > 0).sort((a, b) => a - b);
  if (own.first.length === 0) {
    if (own.second.length > 0) {
      throw new Problem('bad-parameter', 'input first: name the classes to compare with those of `second`', {
        parameter: 'first',
      });
    }
    if (present.length !== 2 || sample.classCode.includes(0)) return null;
    // the denser first: that it lies deeper is what people ask
    const density = densities(sample);
    const [one, other] = present;
    return density[other] > density[one] ? named(sample, [other], [one]) : named(sample, [one], [other]);
  }
  const first = codesOf(sample, own.first, 'first');
  const second = codesOf(sample, own.second, 'second');
  const both = first.find((code) => second.includes(code));
  if (both !== undefined) {
    throw new Problem('bad-parameter', `input second: ${sample.classes[both - 1]} stands in both groups`, {
      parameter: 'second',
    });
  }
  return named(sample, first, second);
}

function named(sample: Sample, first: readonly number[], second: readonly number[]): Groups {
  const words = (codes: readonly number[]) => codes.map((code) => sample.classes[code - 1]).join(', ');
  return {
    first: words(first),
    second: second.length === 0 ? 'all other finds chosen' : words(second),
    of: (i) => {
      const code = sample.classCode[i];
      if (first.includes(code)) return 0;
      return second.length === 0 || second.includes(code) ? 1 : -1;
    },
  };
}

function codesOf(sample: Sample, names: readonly string[], parameter: string): number[] {
  return names.map((name) => {
    const code = sample.classes.indexOf(name) + 1;
    if (code === 0) {
      throw new Problem(
        'unknown-class',
        `input ${parameter}: class "${name}" is not among those chosen; they are ${sample.classes.join(', ') || 'none'}`,
        { parameter, class: name },
      );
    }
    return code;
  });
}
