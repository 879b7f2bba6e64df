import type { Field } from '../fields.js';
import { elevation, grid, note, season } from './shared-fields.js';

const litres = (name: string, title: string): Field => ({
  name,
  title,
  type: 'number',
  unit: 'L',
  min: 0,
  max: 1e6,
});

/** Samples of sediment and the like: the volume taken of the volume present. */
export const sampleFields: readonly Field[] = [
  { name: 'sample', title: 'Sample number', type: 'text', required: true, unique: true, distinct: true },
  season,
  { name: 'dive', title: 'Dive', type: 'text' },
  { name: 'kind', title: 'Kind of sample', type: 'text' },
  grid,
  { name: 'square', title: 'Grid square', type: 'text' },
  { name: 'part', title: 'Part of the square', type: 'text' },
  { name: 'context', title: 'Context', type: 'text' },
  elevation('z_elevation', 'Elevation'),
  litres('volume_taken_l', 'Volume taken'),
  litres('volume_present_l', 'Volume present'),
  note,
];
