import type { Field } from '../fields.js';
import { certainty, note } from './shared-fields.js';

/** Zones of the ship: hold, galley, stern cabin. */
export const shipZoneFields: readonly Field[] = [
  { name: 'zone', title: 'Zone of the ship', type: 'text', required: true, unique: true, distinct: true },
  { name: 'deck', title: 'Deck', type: 'text' },
  certainty,
  note,
];
