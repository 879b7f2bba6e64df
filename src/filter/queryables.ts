import type { Field } from '../domain/fields.js';

/** Name by which a filter asks for the position. */
export const geometryName = 'geometry';

/** Name by which a filter asks for the feature id. */
export function featureIdName(fields: readonly Field[]): string {
  return fields.some(({ name }) => name === 'id') ? 'feature_id' : 'id';
}

/** What a property is when it is compared. */
export type QueryableType = 'text' | 'number' | 'boolean' | 'day' | 'instant' | 'geometry' | 'id';

const types: Readonly<Record<Field['type'], QueryableType>> = {
  text: 'text',
  number: 'number',
  integer: 'number',
  boolean: 'boolean',
  date: 'day',
  'date-time': 'instant',
  time: 'text',
};

/** Everything a filter may name in a table of these fields, by name. */
export function queryablesOf(fields: readonly Field[], hasGeometry: boolean): ReadonlyMap<string, QueryableType> {
  const found = new Map<string, QueryableType>([[featureIdName(fields), 'id']]);
  if (hasGeometry) found.set(geometryName, 'geometry');
  for (const { name, type } of fields) found.set(name, types[type]);
  return found;
}
