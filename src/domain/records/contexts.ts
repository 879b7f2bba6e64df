import type { Field } from '../fields.js';
import { certainty, elevation, note, season } from './shared-fields.js';

/** Contexts: layers and disturbances such as pits dug by others and modern cuts. */
export const contextFields: readonly Field[] = [
  { name: 'number', title: 'Context number', type: 'text', required: true, unique: true, distinct: true },
  { name: 'kind', title: 'Layer, disturbance, pit, cut …', type: 'text' },
  { name: 'description', title: 'Description', type: 'text', distinct: true },
  season,
  certainty,
  elevation('z_top', 'Elevation of the top'),
  elevation('z_bottom', 'Elevation of the bottom'),
  note,
];
