import type { Field } from '../fields.js';
import { elevation, grid, note, season } from './shared-fields.js';

/** Excavated areas: what was opened, how far and how, in each season. The dug ones are the window of every statistic. */
export const excavatedAreaFields: readonly Field[] = [
  { ...season, required: true },
  {
    name: 'progress',
    title: 'Progress',
    type: 'text',
    required: true,
    choices: ['planned', 'opened', 'part_dug', 'to_deposit_bottom', 'to_hard_substrate', 'abandoned'],
  },
  {
    name: 'dug_fraction',
    title: 'Share dug',
    description: 'Share of the deposit in this area that was dug; enters rates and volumes, not the window',
    type: 'number',
    unit: '1',
    min: 0,
    max: 1,
  },
  elevation('depth_reached', 'Depth reached', 'Elevation of the floor reached, up-positive, in the site datum'),
  { name: 'backfilled', title: 'Backfilled', type: 'boolean' },
  { name: 'tool', title: 'Tool', type: 'text' },
  { name: 'mesh_mm', title: 'Sieve mesh', type: 'number', unit: 'mm', min: 0, max: 1000 },
  { name: 'finds_none', title: 'Dug and found empty', type: 'boolean' },
  grid,
  { name: 'square', title: 'Grid square', type: 'text' },
  { name: 'part', title: 'Part of the square', type: 'text' },
  note,
];
