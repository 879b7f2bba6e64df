import type { Field } from '../fields.js';
import { elevation, note, planMetres, season, sigma } from './shared-fields.js';

/** Control points: the marks that tapes and levels start from, in metres of the first grid. */
export const controlPointFields: readonly Field[] = [
  { name: 'name', title: 'Control point', type: 'text', required: true, unique: true, distinct: true },
  { name: 'class', title: 'Class of control point', type: 'text' },
  planMetres('x', 'Position along the x axis of the first grid'),
  planMetres('y', 'Position along the y axis of the first grid'),
  elevation('z', 'Elevation', 'Up-positive, in the site datum'),
  sigma('sigma', 'Standard deviation of the position'),
  season,
  note,
];
