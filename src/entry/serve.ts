import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { softwareVersion } from '../analyses/software.js';
import { createApp } from '../http/app.js';
import { limitServer } from '../http/limits.js';
import { Problem } from '../problems.js';
import { compose } from './compose.js';
import { type Config, refuseOpenHost } from './config.js';

/** A running service. */
export interface Running {
  readonly url: string;
  sites(): Promise<readonly { readonly id: string; readonly title: string }[]>;
  close(): Promise<void>;
}

/**
 * Starts the service.
 * @throws Problem refused-start when HOST is open to the network or the port is taken
 */
export async function serve(config: Config): Promise<Running> {
  refuseOpenHost(config.host);
  const service = await compose(config);
  const app = createApp(service.port, {
    publicBaseUrl: config.publicBaseUrl,
    trustProxy: config.trustProxy === 'always',
    staticFolder: service.staticFolder,
    software: `wreckfield ${softwareVersion}`,
    processMetrics: true,
    onBug: (error, id, where) =>
      process.stderr.write(
        `internal error ${id} at ${where}: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`,
      ),
  });
  const server = limitServer(createServer(app));
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) => {
      const taken = `port ${config.port} on ${config.host} is taken by another program; set PORT to a free one`;
      service.close().finally(() => reject(error.code === 'EADDRINUSE' ? new Problem('refused-start', taken) : error));
    });
    server.listen(config.port, config.host, resolve);
  });
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://${config.host.includes(':') ? `[${config.host}]` : config.host}:${port}`,
    sites: () => service.port.sites(),
    async close() {
      await new Promise<void>((resolve) => {
        server.close(() => resolve());
        server.closeIdleConnections();
        setTimeout(() => server.closeAllConnections(), 2000).unref();
      });
      await service.close();
    },
  };
}

/** Serves, prints the addresses to paste into a GIS desktop, and ends in good order on Ctrl-C or a stop signal. */
export async function serveUntilStopped(config: Config): Promise<void> {
  const running = await serve(config);
  const base = config.publicBaseUrl ?? running.url;
  process.stdout.write(`\nServing at ${base}/\n`);
  for (const { id, title } of await running.sites()) {
    const site = `${base}/sites/${id}`;
    process.stdout.write(
      [
        '',
        `${title}`,
        `  page                          ${site}`,
        `  OGC API (features, processes) ${site}`,
        `  vector tiles, zoom 0 to 22    ${site}/xyz/finds/{z}/{x}/{y}.mvt`,
        `  style of the whole site       ${site}/styles/site`,
        `  everything to paste           ${site}/connect`,
        '',
      ].join('\n'),
    );
  }
  process.stdout.write('\nStop with Ctrl-C.\n');
  await new Promise<void>((resolve) => {
    const stop = () => {
      running.close().then(resolve, resolve);
    };
    process.once('SIGINT', stop);
    process.once('SIGTERM', stop);
  });
}
