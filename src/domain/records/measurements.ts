import type { Field } from '../fields.js';
import { date, note, sigma, time } from './shared-fields.js';

/** Raw readings between control points: tapes, baseline offsets, depths. Never deleted, whatever the adjustment says. */
export const measurementFields: readonly Field[] = [
  { name: 'from', title: 'From', type: 'text', required: true },
  { name: 'to', title: 'To', type: 'text' },
  {
    name: 'kind',
    title: 'Kind of reading',
    type: 'text',
    required: true,
    choices: ['distance', 'baseline_along', 'baseline_out', 'depth', 'elevation', 'vertical_offset'],
  },
  { name: 'value', title: 'Reading', type: 'number', unit: 'm', required: true, min: -12_000, max: 200_000 },
  { name: 'unit', title: 'Unit of the reading', description: 'Metres; empty is metres', type: 'text', choices: ['m'] },
  sigma('sigma', 'Standard deviation of the reading'),
  { name: 'instrument', title: 'Instrument', type: 'text' },
  { name: 'reading_series', title: 'Reading series', type: 'text' },
  date,
  time,
  note,
];
