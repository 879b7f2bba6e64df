import type { Field } from '../fields.js';
import { planMetres, sigma } from './shared-fields.js';

/** Columns that control points have beside those of control-points.csv in a version with an accepted adjustment. */
export const adjustedPointFields: readonly Field[] = [
  { name: 'adjusted', title: 'Position by the accepted adjustment', type: 'boolean' },
  { name: 'adjustment', title: 'Adjustment, by the start of its SHA-256', type: 'text' },
  { name: 'adjusted_from_version', title: 'Data version the adjustment was made from', type: 'integer' },
  { name: 'weak', title: 'To be measured again: flat cut, or nothing checks it', type: 'boolean' },
  sigma('sigma_x', 'Standard deviation of x'),
  sigma('sigma_y', 'Standard deviation of y'),
  sigma('sigma_z', 'Standard deviation of the elevation'),
  { name: 'listed', title: 'Stands in control-points.csv', type: 'boolean' },
  planMetres('received_x', 'x as received'),
  planMetres('received_y', 'y as received'),
  { name: 'received_z', title: 'Elevation as received', type: 'number', unit: 'm' },
  sigma('received_sigma', 'Standard deviation as received'),
];

/** Columns that measurements have beside those of measurements.csv in a version with an accepted adjustment. */
export const adjustedReadingFields: readonly Field[] = [
  { name: 'residual', title: 'Adjusted less observed', type: 'number', unit: 'm' },
  { name: 'normalised', title: 'Residual over its standard deviation', type: 'number', unit: '1' },
  { name: 'state', title: 'Took part in the adjustment', type: 'text', choices: ['kept', 'set_aside', 'not_used'] },
  { name: 'reason', title: 'Why it did not, or why it is suspect', type: 'text' },
];
