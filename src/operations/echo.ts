import { setTimeout as wait } from 'node:timers/promises';
import * as z from 'zod';
import { Problem } from '../problems.js';

/** Inputs of the test process of OGC API – Processes: what comes in goes out, after a pause if asked for. */
export const echoInputs = z.strictObject({
  text: z.string().max(10_000).optional().meta({ title: 'Text' }),
  number: z.number().optional().meta({ title: 'Number' }),
  flag: z.boolean().optional().meta({ title: 'Truth value' }),
  array: z
    .array(z.union([z.number(), z.string()]))
    .max(1000)
    .optional()
    .meta({ title: 'List of numbers or texts' }),
  mixed: z.union([z.number(), z.string(), z.boolean()]).optional().meta({ title: 'Number, text or truth value' }),
  bbox: z
    .strictObject({ bbox: z.array(z.number()).min(4).max(6), crs: z.string().optional() })
    .optional()
    .meta({ title: 'Bounding box' }),
  object: z.record(z.string(), z.unknown()).optional().meta({ title: 'Object' }),
  binary: z
    .base64()
    .max(100_000)
    .optional()
    .meta({ title: 'Bytes, base64', contentMediaType: 'application/octet-stream' }),
  pause_s: z.number().min(0).max(60).default(0).meta({ title: 'Pause before the answer', 'x-ogc-unit': 's' }),
});

/**
 * Gives the inputs back.
 * @throws Problem bad-parameter for what does not fit; the signal's reason when stopped in the pause
 */
export async function echo(
  given: Readonly<Record<string, unknown>>,
  progress: (share: number, doing: string) => void,
  signal: AbortSignal,
): Promise<Record<string, unknown>> {
  const { pause_s: pauseS, ...inputs } = checkEcho(given);
  const steps = Math.ceil(pauseS * 10);
  for (let step = 0; step < steps; step++) {
    progress(step / steps, 'pausing');
    await wait((pauseS * 1000) / steps, undefined, { signal });
  }
  return inputs;
}

/** @throws Problem bad-parameter, unknown-parameter */
export function checkEcho(given: Readonly<Record<string, unknown>>): z.output<typeof echoInputs> {
  for (const [name, value] of Object.entries(given)) {
    if (!(name in echoInputs.shape)) {
      throw new Problem(
        'unknown-parameter',
        `echo has no input "${name}"; its inputs are ${Object.keys(echoInputs.shape).join(', ')}`,
        { parameter: name },
      );
    }
    if (value !== null && typeof value === 'object' && 'href' in value) {
      throw new Problem(
        'bad-parameter',
        `input ${name}: references are not fetched by this service; send the value itself`,
        { parameter: name },
      );
    }
  }
  const result = echoInputs.safeParse(given);
  if (result.success) return result.data;
  const errors = result.error.issues.map((issue) => ({ parameter: issue.path.join('.'), message: issue.message }));
  throw new Problem('bad-parameter', `input ${errors[0].parameter}: ${errors[0].message}`, { errors });
}

/** The description of `echo`, for the list of processes. */
export function echoDescription() {
  const inputs: Record<
    string,
    { title: string; minOccurs: number; maxOccurs: number; schema: Record<string, unknown> }
  > = {};
  for (const [name, schema] of Object.entries(echoInputs.shape)) {
    const { title, ...json } = z.toJSONSchema(schema as z.ZodType, {
      io: 'input',
      target: 'openapi-3.0',
      unrepresentable: 'any',
    }) as Record<string, unknown>;
    inputs[name] = { title: String(title), minOccurs: 0, maxOccurs: 1, schema: json };
  }
  return {
    id: 'echo',
    title: 'Echo',
    description: 'Gives its inputs back, after a pause if asked for: the test process of OGC API – Processes.',
    version: '1.0.0',
    jobControlOptions: ['sync-execute', 'async-execute', 'dismiss'] as const,
    inputs,
    outputs: Object.fromEntries(
      Object.keys(inputs)
        .filter((name) => name !== 'pause_s')
        .map((name) => [name, { title: inputs[name].title, schema: inputs[name].schema }]),
    ),
  };
}
