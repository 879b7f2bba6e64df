import type { Field } from '../fields.js';
import { date, note } from './shared-fields.js';

/** Links between finds and drawings, photographs and dive sheets: one row for each link. */
export const documentFields: readonly Field[] = [
  { name: 'document', title: 'Document number', type: 'text', required: true, distinct: true },
  { name: 'kind', title: 'Kind of document', type: 'text' },
  { name: 'find', title: 'Find number', type: 'text', distinct: true },
  { name: 'dive', title: 'Dive', type: 'text' },
  { name: 'title', title: 'Title', type: 'text', distinct: true },
  { name: 'file', title: 'File', type: 'text', distinct: true },
  date,
  note,
];
