import type { Field } from '../fields.js';
import { date, note, season } from './shared-fields.js';

/** Dives: the commonest surviving link from a bag to a place. Roles or initials, never divers' full names. */
export const diveFields: readonly Field[] = [
  { name: 'dive', title: 'Dive', type: 'text', required: true, distinct: true },
  season,
  date,
  { name: 'role', title: 'Role', type: 'text' },
  { name: 'minutes', title: 'Time under water', type: 'number', unit: 'min', min: 0, max: 100_000 },
  note,
];
