import type { Field } from '../fields.js';
import { certainty } from './shared-fields.js';

/** Joins: two finds of one object. */
export const refitFields: readonly Field[] = [
  { name: 'find_a', title: 'One find', type: 'text', required: true, distinct: true },
  { name: 'find_b', title: 'Other find', type: 'text', required: true, distinct: true },
  { name: 'kind', title: 'Kind of join', type: 'text' },
  certainty,
];
