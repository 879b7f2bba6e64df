import type { CommonInputs } from '../analyses/contract.js';
import type { Survey } from '../domain/survey.js';
import { type CompiledFilter, compileFilter } from '../filter/compile.js';
import { parseFilter } from '../filter/parse.js';
import { placedLayer } from './placed-layer.js';
import { readFilterText } from './read-filter.js';

/**
 * The filter of a run, fitted to the finds as they are published: a property means the same in a run as in a layer.
 * Geometries are longitude and latitude. One mark for each find of the survey.
 * @throws Problem bad-filter
 */
export function filterOfFinds(
  survey: Survey,
  { filter, identified_as_of }: Pick<CommonInputs, 'filter' | 'identified_as_of'>,
): CompiledFilter | null {
  if (filter === null) return null;
  const expression =
    typeof filter === 'string'
      ? readFilterText(filter).expression
      : parseFilter(JSON.stringify(filter), 'cql2-json', { axes: 'east-north', unit: 'degree' });
  const table = survey.knownAt(identified_as_of).collection('finds') ?? survey.finds;
  const placed = placedLayer(table, survey.frame);
  const places = () => placed.coordinates('crs84');
  return compileFilter(expression, { table, unit: 'degree', places, unknownProperty: 'refuse' });
}
