import type { Field } from '../fields.js';

/** Pot vessels that sherds were grouped into. */
export const potVesselFields: readonly Field[] = [
  { name: 'pot_vessel', title: 'Pot vessel', type: 'text', required: true, unique: true, distinct: true },
  { name: 'form', title: 'Form', type: 'text' },
  { name: 'rim_percent', title: 'Rim preserved', type: 'number', unit: '%', min: 0, max: 100_000 },
  { name: 'minimum', title: 'Fewest vessels', type: 'number', unit: '1', min: 0, max: 1e9 },
  { name: 'maximum', title: 'Most vessels', type: 'number', unit: '1', min: 0, max: 1e9 },
];
