import { isIPv4 } from 'node:net';
import { availableParallelism } from 'node:os';
import { resolve } from 'node:path';
import * as z from 'zod';
import { Problem } from '../problems.js';

const wholeNumber = (low: number, high: number) =>
  z
    .string()
    .regex(/^\d{1,9}$/, 'a whole number')
    .transform((text) => Number.parseInt(text, 10))
    .pipe(z.int().min(low).max(high));

const environment = z.object({
  PORT: wholeNumber(0, 65535).default(8080),
  HOST: z.string().min(1).default('127.0.0.1'),
  DATA_DIR: z.string().min(1).default('./var'),
  PUBLIC_BASE_URL: z
    .url({ protocol: /^https?$/ })
    .transform((url) => url.replace(/\/+$/, ''))
    .optional(),
  TRUST_PROXY: z.enum(['0', '1', 'true', 'false']).default('0'),
  WORKERS: wholeNumber(1, 64).optional(),
});

/** How this process is set up, from its environment. */
export interface Config {
  readonly port: number;
  readonly host: string;
  readonly dataDir: string;
  readonly publicBaseUrl: string | null;
  readonly trustProxy: 'never' | 'always';
  readonly workers: number;
}

/**
 * Reads the environment.
 * @throws Problem refused-start naming the variable, its value and what was wanted
 */
export function configFrom(env: Readonly<Record<string, string | undefined>>): Config {
  const result = environment.safeParse(env);
  if (!result.success) {
    const [issue] = result.error.issues;
    const name = String(issue.path[0]);
    throw new Problem('refused-start', `environment variable ${name} = "${env[name]}": ${issue.message}`);
  }
  const set = result.data;
  if (env['DATABASE_URL']) {
    throw new Problem(
      'refused-start',
      'DATABASE_URL is set, but this version keeps its records in SQLite only; unset it',
    );
  }
  return {
    port: set.PORT,
    host: set.HOST,
    dataDir: resolve(set.DATA_DIR),
    publicBaseUrl: set.PUBLIC_BASE_URL ?? null,
    trustProxy: set.TRUST_PROXY === '1' || set.TRUST_PROXY === 'true' ? 'always' : 'never',
    workers: set.WORKERS ?? Math.max(1, Math.min(4, availableParallelism() - 1)),
  };
}

/** An address is loopback, a name that merely begins like one is not. */
const isLoopback = (host: string): boolean =>
  host === 'localhost' || host === '::1' || host === '[::1]' || (isIPv4(host) && host.startsWith('127.'));

/**
 * Anyone who reaches a loopback address sits at the machine; beyond it, positions must not be handed to strangers.
 * @throws Problem refused-start
 */
export function refuseOpenHost(host: string): void {
  if (isLoopback(host)) return;
  throw new Problem(
    'refused-start',
    `HOST = ${host} would show exact positions to everybody on the network, and this version has no keys yet; set HOST to 127.0.0.1 and reach it through a tunnel or a proxy that asks for a password`,
  );
}
