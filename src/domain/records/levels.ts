import type { Field } from '../fields.js';
import { date, grid, note, planMetres, season, sigma, time } from './shared-fields.js';

/** Level readings of the seabed and of the top and bottom of the wreck deposit: one row for each reading. */
export const levelFields: readonly Field[] = [
  grid,
  { name: 'node', title: 'Grid node', type: 'text' },
  planMetres('local_x', 'Position along the x axis of the grid'),
  planMetres('local_y', 'Position along the y axis of the grid'),
  season,
  {
    name: 'surface',
    title: 'Surface',
    type: 'text',
    required: true,
    choices: ['seabed_before', 'deposit_top', 'deposit_bottom', 'excavation_limit', 'hard_substrate'],
  },
  {
    name: 'value',
    title: 'Reading',
    description: 'Elevation (up-positive) or depth (down-positive) in the site datum, as `kind` says',
    type: 'number',
    unit: 'm',
    min: -12_000,
    max: 12_000,
  },
  { name: 'kind', title: 'Kind of reading', type: 'text', required: true, choices: ['elevation', 'depth'] },
  sigma('sigma', 'Standard deviation of the reading'),
  { name: 'unit', title: 'Unit of the reading', description: 'Metres; empty is metres', type: 'text', choices: ['m'] },
  { name: 'method', title: 'Method', type: 'text' },
  { name: 'reading_series', title: 'Reading series', type: 'text' },
  date,
  time,
  { name: 'state', title: 'State', type: 'text' },
  note,
];
