import type { Field } from '../fields.js';

const depth = (name: string, title: string): Field => ({
  name,
  title,
  type: 'number',
  unit: 'm',
  min: -12_000,
  max: 12_000,
});

/** Depths read at the reference mark at the start and the end of each reading series, for the tide in between. */
export const tideFields: readonly Field[] = [
  { name: 'reading_series', title: 'Reading series', type: 'text', required: true, unique: true, distinct: true },
  { name: 'start_time', title: 'Start', type: 'date-time' },
  depth('start_depth', 'Depth of the reference mark at the start'),
  { name: 'end_time', title: 'End', type: 'date-time' },
  depth('end_depth', 'Depth of the reference mark at the end'),
  depth('reference_depth', 'Depth of the reference mark in the site datum'),
];
