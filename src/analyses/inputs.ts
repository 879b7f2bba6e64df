import type * as z from 'zod';
import { Problem } from '../problems.js';
import { type Analysis, type CommonInputs, commonInputs } from './contract.js';

/** A request's inputs after checking: the common ones and the analysis's own, defaults filled in. */
export interface CheckedInputs {
  readonly common: CommonInputs & { readonly square_only: 'exclude' | 'spread'; readonly simulations: number };
  readonly own: Record<string, unknown>;
}

/**
 * Checks the inputs of a run strictly.
 * @throws Problem unknown-parameter for a name nobody declared, bad-parameter for a value that does not fit
 */
export function checkInputs(analysis: Analysis, inputs: Readonly<Record<string, unknown>>): CheckedInputs {
  const ownNames = Object.keys(analysis.parameters.shape);
  const commonNames = Object.keys(commonInputs.shape);
  const common: Record<string, unknown> = {};
  const own: Record<string, unknown> = {};
  for (const [name, value] of Object.entries(inputs)) {
    if (ownNames.includes(name)) own[name] = value;
    else if (commonNames.includes(name)) common[name] = value;
    else {
      throw new Problem(
        'unknown-parameter',
        `${analysis.id} has no input "${name}"; its inputs are ${[...ownNames, ...commonNames].join(', ')}`,
        { parameter: name },
      );
    }
  }
  const checked = parse(commonInputs, common) as CommonInputs;
  return {
    common: {
      ...checked,
      square_only: checked.square_only ?? analysis.squareOnly,
      simulations: checked.simulations ?? analysis.defaultSimulations,
    },
    own: parse(analysis.parameters, own) as Record<string, unknown>,
  };
}

/** Parses by a schema; @throws Problem bad-parameter naming the place and what was wanted */
function parse(schema: z.ZodType, value: unknown): unknown {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const errors = result.error.issues.map((issue) => ({ parameter: issue.path.join('.'), message: issue.message }));
  const [first] = errors;
  throw new Problem('bad-parameter', `input ${first.parameter || 'body'}: ${first.message}`, { errors });
}
