import * as z from 'zod';
import { type Analysis, commonInputs } from './contract.js';

type JsonSchema = Record<string, unknown>;

/** One input as forms, command-line flags and documentation show it. */
export interface InputField {
  readonly name: string;
  readonly title: string;
  readonly description: string;
  readonly unit: string | null;
  /** how a text from a form or a command line becomes a value */
  readonly kind: 'text' | 'number' | 'integer' | 'boolean' | 'choice' | 'list' | 'json';
  readonly choices: readonly string[];
  /** a number or one of `choices` */
  readonly orNumber: boolean;
  readonly default: unknown;
  readonly common: boolean;
  readonly schema: JsonSchema;
}

/** The inputs of an analysis: its own first, then the common ones. */
export function inputFields(analysis: Analysis): InputField[] {
  const own = Object.entries(analysis.parameters.shape).map(([name, schema]) =>
    field(name, schema as z.ZodType, { common: false }),
  );
  const common = Object.entries(commonInputs.shape).map(([name, schema]) => {
    const made = field(name, schema as z.ZodType, { common: true });
    if (name === 'square_only') return { ...made, default: analysis.squareOnly };
    if (name === 'simulations') return { ...made, default: analysis.defaultSimulations };
    return made;
  });
  return [...own, ...common];
}

function field(name: string, schema: z.ZodType, { common }: { common: boolean }): InputField {
  const json = z.toJSONSchema(schema, { io: 'input', target: 'openapi-3.0', unrepresentable: 'any' }) as JsonSchema;
  return {
    name,
    title: String(json['title'] ?? name),
    description: String(json['description'] ?? ''),
    unit: typeof json['x-ogc-unit'] === 'string' ? json['x-ogc-unit'] : null,
    ...kindOf(json),
    default: json['default'] ?? null,
    common,
    schema: json,
  };
}

function kindOf(json: JsonSchema): Pick<InputField, 'kind' | 'choices' | 'orNumber'> {
  const plain = { choices: [] as string[], orNumber: false };
  const branches = ((json['anyOf'] ?? json['oneOf']) as JsonSchema[] | undefined)?.filter(
    (branch) => branch['type'] !== 'null',
  );
  if (branches && branches.length > 0) {
    const words = branches.flatMap((branch) => (branch['enum'] as string[] | undefined) ?? []);
    if (branches.some((branch) => branch['type'] === 'number'))
      return { kind: 'choice', choices: words, orNumber: true };
    if (branches.length === 1) return kindOf(branches[0]);
    const list = branches.find((branch) => branch['type'] === 'array');
    if (list && (list['items'] as JsonSchema)['type'] === 'string') return { ...plain, kind: 'list' };
    return { ...plain, kind: 'json' };
  }
  if (Array.isArray(json['enum'])) return { ...plain, kind: 'choice', choices: json['enum'] as string[] };
  switch (json['type']) {
    case 'integer':
    case 'number':
    case 'boolean':
      return { ...plain, kind: json['type'] };
    case 'string':
      return { ...plain, kind: 'text' };
    case 'array':
      return { ...plain, kind: (json['items'] as JsonSchema | undefined)?.['type'] === 'string' ? 'list' : 'json' };
    default:
      return { ...plain, kind: 'json' };
  }
}

/** An analysis as OGC API – Processes describes it (title, inputs, outputs with schemas), without links. */
export function describeProcess(analysis: Analysis) {
  const inputs: Record<
    string,
    { title: string; description?: string; minOccurs: number; maxOccurs: number | 'unbounded'; schema: JsonSchema }
  > = {};
  for (const input of inputFields(analysis)) {
    const { title: _title, description: _description, ...schema } = input.schema;
    inputs[input.name] = {
      title: input.title,
      ...(input.description === '' ? {} : { description: input.description }),
      minOccurs: 0,
      maxOccurs: 1,
      schema,
    };
  }
  const contentType = (mediaType: string, schema: JsonSchema = { type: 'string' }) => ({
    ...schema,
    contentMediaType: mediaType,
  });
  const outputs: Record<string, { title: string; schema: JsonSchema }> = {
    summary: {
      title: 'Numbers with their units',
      schema: z.toJSONSchema(analysis.result, { target: 'openapi-3.0', unrepresentable: 'any' }) as JsonSchema,
    },
    table: { title: 'Table', schema: { type: 'object' } },
  };
  if (analysis.layers.features)
    outputs['features'] = { title: 'Layer', schema: contentType('application/geo+json', { type: 'object' }) };
  if (analysis.layers.coverage) {
    outputs['coverage'] = {
      title: 'Surface',
      schema: { ...contentType('image/tiff; application=geotiff'), format: 'binary' },
    };
  }
  if (analysis.layers.mesh) {
    outputs['mesh'] = {
      title: 'Surface in space, metres of the site grid; only when the input mesh asks for it',
      schema: contentType('application/geo+json', { type: 'object' }),
    };
  }
  outputs['figure'] = { title: 'Figure', schema: contentType('image/svg+xml') };
  outputs['methods'] = { title: 'Methods paragraph', schema: contentType('text/plain') };
  outputs['provenance'] = { title: 'How the answer was made', schema: { type: 'object' } };
  return {
    id: analysis.id,
    title: analysis.title,
    description: [analysis.summary, ...analysis.cautions].join(' '),
    version: analysis.version,
    keywords: ['distribution', 'artefact class', 'season'],
    jobControlOptions: ['sync-execute', 'async-execute', 'dismiss'] as const,
    inputs,
    outputs,
    example: { inputs: {}, response: 'document' },
    about: {
      question: analysis.summary,
      formula: analysis.formula,
      cautions: analysis.cautions,
      sources: analysis.sources,
      commonInputs: Object.keys(commonInputs.shape),
    },
  };
}
