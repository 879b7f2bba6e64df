import type { Field } from '../fields.js';
import { date } from './shared-fields.js';

/** What a find was taken for, when and why: the newest one that is not superseded holds. */
export const identificationFields: readonly Field[] = [
  { name: 'find', title: 'Find number', type: 'text', required: true, distinct: true },
  { name: 'artefact_class', title: 'Artefact class', type: 'text', required: true },
  { ...date, required: true },
  { name: 'basis', title: 'Basis', type: 'text' },
  { name: 'by_role', title: 'Identified by (role)', type: 'text' },
  { name: 'supersedes', title: 'Class it replaces', type: 'text' },
];
