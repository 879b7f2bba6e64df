import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { chownSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** A PostgreSQL cluster of our own with PostGIS, on a spare port of this machine, gone after `stop`. */
export interface Postgis {
  readonly version: string;
  /** Runs statements; `input` goes to their standard input. @returns what they print, without frames */
  sql(statements: string, input?: string): string;
  stop(): Promise<void>;
}

/** Newest PostgreSQL of the usual places of a Debian system; null when there is none. */
function programs(): string | null {
  const root = '/usr/lib/postgresql';
  if (!existsSync(root)) return null;
  const newest = readdirSync(root).sort((a, b) => Number(b) - Number(a))[0];
  return newest === undefined ? null : join(root, newest, 'bin');
}

/** PostgreSQL does not run as root: then it runs as the user postgres. */
function runAs(): { uid?: number; gid?: number } {
  if (process.getuid?.() !== 0) return {};
  const number = (flag: string) => Number(spawnSync('id', [flag, 'postgres'], { encoding: 'utf8' }).stdout);
  return { uid: number('-u'), gid: number('-g') };
}

function sparePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.on('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => resolve(typeof address === 'object' && address !== null ? address.port : 0));
    });
  });
}

/** Starts the cluster. @returns null with the reason on standard error when PostgreSQL or PostGIS is not installed */
export async function startPostgis(): Promise<Postgis | null> {
  const bin = programs();
  if (bin === null) {
    process.stderr.write('no PostgreSQL in /usr/lib/postgresql: measured without PostGIS\n');
    return null;
  }
  const user = runAs();
  const folder = mkdtempSync(join(tmpdir(), 'bench-postgis-'));
  if (user.uid !== undefined && user.gid !== undefined) chownSync(folder, user.uid, user.gid);
  const data = join(folder, 'data');
  const made = spawnSync(join(bin, 'initdb'), ['-D', data, '-U', 'bench', '-A', 'trust', '-E', 'UTF8', '--no-locale'], {
    ...user,
    cwd: folder,
    encoding: 'utf8',
  });
  if (made.status !== 0) throw new Error(`initdb failed: ${made.stderr}`);
  const port = await sparePort();
  const settings = {
    listen_addresses: '127.0.0.1',
    port: String(port),
    unix_socket_directories: folder,
    shared_buffers: '512MB',
    work_mem: '64MB',
    jit: 'off',
    fsync: 'off',
  };
  const server: ChildProcess = spawn(
    join(bin, 'postgres'),
    ['-D', data, ...Object.entries(settings).flatMap(([name, value]) => ['-c', `${name}=${value}`])],
    { ...user, cwd: folder, stdio: 'ignore' },
  );
  const psql = (statements: string, input = '') =>
    spawnSync(
      join(bin, 'psql'),
      [
        '-h',
        folder,
        '-p',
        String(port),
        '-U',
        'bench',
        '-d',
        'postgres',
        '-qAtX',
        '-v',
        'ON_ERROR_STOP=1',
        '-c',
        statements,
      ],
      { encoding: 'utf8', input, maxBuffer: 1 << 28 },
    );
  const stop = async () => {
    const ended = new Promise((resolve) => server.once('exit', resolve));
    // SIGINT: fast shutdown
    if (server.exitCode === null && server.kill('SIGINT')) await ended;
    rmSync(folder, { recursive: true, force: true });
  };
  const sql = (statements: string, input?: string): string => {
    const run = psql(statements, input);
    if (run.status !== 0) throw new Error(`psql: ${run.stderr}`);
    return run.stdout;
  };
  for (let tries = 0; psql('select 1').status !== 0; tries++) {
    if (tries > 100 || server.exitCode !== null) {
      await stop();
      throw new Error('the PostgreSQL cluster does not start');
    }
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  if (psql('create extension postgis').status !== 0) {
    process.stderr.write('PostgreSQL has no PostGIS: measured without it\n');
    await stop();
    return null;
  }
  const version = sql(
    "select 'PostgreSQL ' || split_part(current_setting('server_version'), ' ', 1) || ', PostGIS ' || postgis_lib_version()",
  );
  return { version: version.trim(), sql, stop };
}
