import type { Route } from './exchange.js';
import { downloadRoutes } from './routes/downloads.js';
import { featuresRoutes } from './routes/features.js';
import { processesRoutes } from './routes/processes.js';
import { serviceRoutes } from './routes/service.js';
import { siteRoutes } from './routes/site.js';
import { tilesRoutes } from './routes/tiles.js';

/**
 * Every address of the service. One declaration is read by the router, the query check, the API description and the
 * pages.
 */
export const routes: readonly Route[] = [
  ...serviceRoutes,
  ...siteRoutes,
  ...featuresRoutes,
  ...tilesRoutes,
  ...processesRoutes,
  ...downloadRoutes,
];
