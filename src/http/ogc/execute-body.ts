import type { Delivery, ProcessDescription } from '../../operations/service.js';
import { Problem } from '../../problems.js';
import { clip } from '../query.js';

type JsonObject = Readonly<Record<string, unknown>>;

function isObject(value: unknown): value is JsonObject {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function bad(
  member: string,
  message: string,
  code: 'bad-body' | 'bad-parameter' | 'unknown-parameter' = 'bad-body',
): Problem {
  return new Problem(code, `${member}: ${message}`, { errors: [{ parameter: member, message }] });
}

const wrapping: ReadonlySet<string> = new Set(['value', 'mediaType', 'encoding', 'schema', 'format']);

/** Takes off the {"value": …} around objects. @throws Problem bad-parameter for a value by reference */
function unwrap(member: string, value: unknown): unknown {
  if (Array.isArray(value)) return value.map((entry) => unwrap(member, entry));
  if (!isObject(value)) return value;
  if (typeof value['href'] === 'string') {
    throw bad(
      member,
      'a value by reference (href) is not fetched, since this service calls no other address; put the value itself into the request',
      'bad-parameter',
    );
  }
  const keys = Object.keys(value);
  return keys.includes('value') && keys.every((key) => wrapping.has(key)) ? value['value'] : value;
}

function readOutputs(value: unknown, process: ProcessDescription): Delivery['outputs'] {
  if (value === undefined) return null;
  if (!isObject(value)) throw bad('outputs', 'must be an object keyed by output id');
  const ids = Object.keys(value);
  // an empty list of wishes is no wish
  if (ids.length === 0) return null;
  return ids.map((id) => {
    if (!Object.hasOwn(process.outputs, id)) {
      const known = Object.keys(process.outputs).join(', ');
      throw bad(
        `outputs.${clip(id)}`,
        `process ${process.id} has no such output; it has ${known}`,
        'unknown-parameter',
      );
    }
    const wish = value[id];
    if (!isObject(wish)) throw bad(`outputs.${id}`, 'must be an object');
    for (const key of Object.keys(wish)) {
      if (key !== 'format' && key !== 'transmissionMode')
        throw bad(`outputs.${id}.${clip(key)}`, 'is not known; use format and transmissionMode', 'unknown-parameter');
    }
    const transmission = wish['transmissionMode'] ?? 'value';
    if (transmission !== 'value' && transmission !== 'reference')
      throw bad(`outputs.${id}.transmissionMode`, 'must be value or reference');
    checkFormat(id, wish['format'], process);
    return { id, transmission };
  });
}

/** Each output has one form; asking for another is refused before hours of work. */
function checkFormat(id: string, format: unknown, process: ProcessDescription): void {
  if (format === undefined) return;
  const asked = isObject(format) ? format['mediaType'] : undefined;
  if (asked === undefined) return;
  const { schema } = process.outputs[id];
  const given =
    typeof schema['contentMediaType'] === 'string'
      ? [schema['contentMediaType']]
      : ['application/json', 'application/geo+json', 'text/plain'];
  if (
    typeof asked !== 'string' ||
    !given.some((type) => type.split(';')[0] === asked.split(';')[0].trim().toLowerCase())
  ) {
    throw bad(
      `outputs.${id}.format.mediaType`,
      `${clip(String(asked))} is not made; this output is ${given[0]}`,
      'bad-parameter',
    );
  }
}

/**
 * Reads the body of an execution: its shape here, the values by the process itself.
 * @throws Problem bad-body, bad-parameter, unknown-parameter
 */
export function readExecuteBody(
  body: unknown,
  process: ProcessDescription,
): { inputs: JsonObject; delivery: Delivery } {
  if (!isObject(body)) throw new Problem('bad-body', 'the request body must be an object such as {"inputs": {}}');
  for (const key of Object.keys(body)) {
    if (key === 'subscriber') throw bad('subscriber', 'this service calls no other address; ask /jobs/{id} instead');
    if (!['inputs', 'outputs', 'response'].includes(key))
      throw bad(clip(key), 'is not known; use inputs, outputs and response', 'unknown-parameter');
  }
  const given = body['inputs'] ?? {};
  if (!isObject(given)) throw bad('inputs', 'must be an object keyed by input id');
  const entries: [string, unknown][] = [];
  for (const [name, value] of Object.entries(given)) {
    // own names only: "__proto__" and "constructor" are as unknown as any other
    if (!Object.hasOwn(process.inputs, name)) {
      const known = Object.keys(process.inputs).join(', ');
      throw bad(
        `inputs.${clip(name)}`,
        `process ${process.id} has no such input; it has ${known}`,
        'unknown-parameter',
      );
    }
    entries.push([name, unwrap(`inputs.${name}`, value)]);
  }
  const response = body['response'] ?? 'raw';
  if (response !== 'raw' && response !== 'document') throw bad('response', 'must be raw or document');
  return {
    inputs: Object.fromEntries(entries),
    delivery: { response, outputs: readOutputs(body['outputs'], process) },
  };
}
