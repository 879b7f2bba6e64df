import type { Field } from '../domain/fields.js';
import { filterLanguages } from '../filter/parse.js';
import { filterLimits } from '../filter/refusal.js';
import type { CollectionView } from '../operations/service.js';
import { CRS84 } from './crs.js';
import { limits } from './limits.js';
import type { Parameter } from './query.js';

const text = { type: 'string' } as const;

export const parameters = {
  limit: {
    name: 'limit',
    description: `Most features on one page; more than ${limits.pageMax} gives ${limits.pageMax}`,
    schema: { type: 'integer', minimum: 1, maximum: limits.pageMax, default: limits.pageDefault },
  },
  offset: {
    name: 'offset',
    description: 'Leave out this many features first; following the next links is quicker',
    schema: { type: 'integer', minimum: 0, default: 0 },
  },
  after: {
    name: 'after',
    description: 'Only features with a greater id; next links use it',
    schema: { type: 'integer', minimum: 0 },
  },
  bbox: {
    name: 'bbox',
    description:
      'Only features that touch this box: lower-left and upper-right corner in the axis order of bbox-crs; heights are not compared; features without position always fit',
    schema: { type: 'array', minItems: 4, maxItems: 6, items: { type: 'number' } },
  },
  bboxCrs: {
    name: 'bbox-crs',
    description: 'Coordinate reference system of bbox',
    schema: { type: 'string', format: 'uri', default: CRS84 },
  },
  crs: {
    name: 'crs',
    description: 'Coordinate reference system of the answer',
    schema: { type: 'string', format: 'uri', default: CRS84 },
  },
  datetime: {
    name: 'datetime',
    description:
      'Only features of this moment, day or interval (2024-07-05, 2024-07-01/.., ../2024-07-31); features without a date always fit',
    schema: text,
  },
  season: {
    name: 'season',
    description: 'Only records of this season; may be repeated',
    schema: { type: 'array', items: text },
    repeatable: true,
  },
  artefactClass: {
    name: 'artefact_class',
    description: 'Only this artefact class, with its children; may be repeated',
    schema: { type: 'array', items: text },
    repeatable: true,
  },
  version: {
    name: 'version',
    description: 'Data version; the newest when absent',
    schema: { type: 'integer', minimum: 1 },
  },
  identifiedAsOf: {
    name: 'identified_as_of',
    description: 'Artefact classes as identified on this date',
    schema: { type: 'string', format: 'date' },
  },
  filter: {
    name: 'filter',
    description: `Only features of which this is true, in CQL2, by the properties of /queryables: season = 'S1' AND z_elevation < -0.5. At most ${filterLimits.bytes} bytes, ${filterLimits.nodes} parts and ${filterLimits.depth} levels of nesting; what is unknown does not fit`,
    schema: text,
  },
  filterLang: {
    name: 'filter-lang',
    description: 'Language of filter; cql-text is the name older clients have for cql2-text',
    schema: { type: 'string', enum: [...filterLanguages], default: filterLanguages[0] },
  },
  filterCrs: {
    name: 'filter-crs',
    description: 'Coordinate reference system of the geometries in filter',
    schema: { type: 'string', format: 'uri', default: CRS84 },
  },
  listLimit: {
    name: 'limit',
    description: `Most entries given; more than ${limits.listMax} gives ${limits.listMax}`,
    schema: { type: 'integer', minimum: 1, maximum: limits.listMax, default: limits.listDefault },
  },
} as const satisfies Record<string, Parameter>;

const fieldSchemas: Readonly<Record<Field['type'], Record<string, unknown>>> = {
  text: { type: 'string' },
  number: { type: 'number' },
  integer: { type: 'integer' },
  boolean: { type: 'boolean' },
  date: { type: 'string', format: 'date' },
  'date-time': { type: 'string', format: 'date-time' },
  time: { type: 'string', format: 'time' },
};

/** JSON Schema of the values of a field, without its words and unit. */
export function fieldSchema(field: Field): Record<string, unknown> {
  return fieldSchemas[field.type];
}

/** A filter, its language and its CRS. */
export const filterParameters: readonly Parameter[] = [parameters.filter, parameters.filterLang, parameters.filterCrs];

/** The conditions that make sense for a collection: a season for records that have one, a class for those that have one. */
function selectionParameters(collection: CollectionView): readonly Parameter[] {
  const found: Parameter[] = [parameters.version];
  const has = (name: string) => collection.table.fields.some((field) => field.name === name);
  if (has('season') || collection.surface || collection.bySeason) found.push(parameters.season);
  if (has('artefact_class')) found.push(parameters.artefactClass, parameters.identifiedAsOf);
  return found;
}

const reserved: ReadonlySet<string> = new Set([...Object.values(parameters).map((p) => p.name), 'f', 'key']);

/** Fields that are equality filters under their own name. */
export function filterFields(collection: CollectionView): readonly Field[] {
  return collection.table.fields.filter((field) => !reserved.has(field.name));
}

/** Everything /items of a collection takes. */
export function itemParameters(collection: CollectionView): readonly Parameter[] {
  return [
    parameters.limit,
    parameters.offset,
    parameters.after,
    parameters.bbox,
    parameters.bboxCrs,
    parameters.crs,
    parameters.datetime,
    ...filterParameters,
    ...selectionParameters(collection),
    ...filterFields(collection).map((field) => ({
      name: field.name,
      description: `Only features whose ${field.title.toLowerCase()} is this`,
      schema: fieldSchema(field),
    })),
  ];
}
