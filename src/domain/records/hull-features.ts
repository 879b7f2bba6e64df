import type { Field } from '../fields.js';
import { certainty, grid, note, planMetres, season } from './shared-fields.js';

/** Hull features: timbers and fittings of the ship itself. */
export const hullFeatureFields: readonly Field[] = [
  { name: 'number', title: 'Timber number', type: 'text', required: true, unique: true, distinct: true },
  { name: 'element', title: 'Element', type: 'text', required: true },
  { name: 'state', title: 'Articulated or loose', type: 'text', choices: ['articulated', 'loose'] },
  { name: 'place', title: 'In place or displaced', type: 'text', choices: ['in_place', 'displaced'] },
  {
    name: 'outline',
    title: 'Surviving or projected',
    description: 'Projected: drawn where it is thought to have been',
    type: 'text',
    choices: ['surviving', 'projected'],
  },
  certainty,
  season,
  note,
];

/** The ends of a timber, for hull-features.csv. */
export const hullEndFields: readonly Field[] = [
  grid,
  { ...planMetres('start_x', 'One end along the x axis'), required: true },
  { ...planMetres('start_y', 'One end along the y axis'), required: true },
  { ...planMetres('end_x', 'Other end along the x axis'), required: true },
  { ...planMetres('end_y', 'Other end along the y axis'), required: true },
];
