import { softwareVersion } from '../analyses/software.js';
import { openApiDocument } from './openapi-document.js';
import { routes } from './routes.js';

/** The description every site's API follows, with placeholders for its collections: openapi/openapi.json. */
export function openApiTemplate(processes: readonly { readonly id: string }[]): Record<string, unknown> {
  const software = `wreckfield ${softwareVersion}`;
  return openApiDocument({ routes, survey: null, processes, serverUrl: '/sites/{siteId}', software });
}
