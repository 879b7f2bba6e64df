import { filterLanguages, parseFilter } from '../filter/parse.js';
import type { SelectionFilter } from './service.js';

/**
 * A filter as it is typed: CQL2 text, its geometries in longitude and latitude.
 * @throws Problem bad-filter when it cannot be read
 */
export function readFilterText(text: string): SelectionFilter {
  const [language] = filterLanguages;
  return {
    expression: parseFilter(text, language, { axes: 'east-north', unit: 'degree' }),
    crs: 'crs84',
    key: `${language} ${text}`,
  };
}
