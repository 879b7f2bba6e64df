import type { Context, Handler, Request } from '../exchange.js';
import { siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { openApiDocument } from '../openapi-document.js';
import { type ApiDocument, apiPage } from '../pages/resources.js';
import { frameOf } from '../shown/frame.js';

async function describe(request: Request, context: Context) {
  const survey = await context.service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  return openApiDocument({
    routes: context.routes,
    survey,
    processes: context.service.processes(),
    serverUrl: siteUrl(request),
    software: context.software,
  });
}

/** The description of a site's API, its collections named literally; for people when asked for, or at /api.html. */
export const getApi: Handler = async (request, context) => {
  const document = await describe(request, context);
  return {
    body: document,
    page: () =>
      apiPage({
        frame: frameOf({ ...request, format: 'html' }, ['openapi', 'html']),
        document: document as unknown as ApiDocument,
        baseUrl: siteUrl(request),
        links: [{ href: siteUrl(request, '/api'), title: 'This description as OpenAPI', type: mediaTypeOf('openapi') }],
      }),
  };
};
