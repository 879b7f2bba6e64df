import { type ChildProcess, execFile, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join, resolve } from 'node:path';
import { promisify } from 'node:util';

export const root = resolve(import.meta.dirname, '../..');
const run = promisify(execFile);

/** A service of the built program in a process of its own, on a free loopback port and a store of its own. */
export interface RunningService {
  readonly url: string;
  readonly dataDir: string;
  readonly process: ChildProcess;
  stop(): Promise<void>;
}

/** Starts `npm start`'s program (demo site included) or another entry of the build. */
export async function startService(env: Record<string, string> = {}, entry = 'start.js'): Promise<RunningService> {
  const own = env['DATA_DIR'] === undefined;
  const dataDir = env['DATA_DIR'] ?? mkdtempSync(join(tmpdir(), 'wreckfield-'));
  const args = entry === 'cli.js' ? ['serve'] : [];
  const child = spawn(process.execPath, [join(root, 'dist/entry', entry), ...args], {
    env: { ...process.env, PORT: '0', HOST: '127.0.0.1', ...env, DATA_DIR: dataDir },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let said = '';
  const url = await new Promise<string>((done, fail) => {
    const timer = setTimeout(() => fail(new Error(`no address after 60 s: ${said}`)), 60_000);
    const listen = (chunk: Buffer) => {
      said += chunk;
      const found = /Serving at (http:\/\/[^\s]+?)\/\s/.exec(said);
      if (!found) return;
      clearTimeout(timer);
      done(found[1]);
    };
    child.stdout?.on('data', listen);
    child.stderr?.on('data', listen);
    child.once('exit', (code) => fail(new Error(`ended with ${code}: ${said}`)));
  });
  return {
    url,
    dataDir,
    process: child,
    async stop() {
      if (child.exitCode === null) {
        const gone = new Promise((done) => child.once('exit', done));
        child.kill('SIGTERM');
        await gone;
      }
      if (own) rmSync(dataDir, { recursive: true, force: true });
    },
  };
}

/** Runs the built command line. */
export async function wreckfield(
  words: readonly string[],
  env: Record<string, string> = {},
): Promise<{ code: number; out: string; err: string }> {
  try {
    const { stdout, stderr } = await run(process.execPath, [join(root, 'dist/entry/cli.js'), ...words], {
      env: { ...process.env, ...env },
      maxBuffer: 64 * 1024 * 1024,
    });
    return { code: 0, out: stdout, err: stderr };
  } catch (error) {
    const failed = error as { code?: number; stdout?: string; stderr?: string };
    return { code: failed.code ?? -1, out: failed.stdout ?? '', err: failed.stderr ?? '' };
  }
}

/** Runs a program of the system and gives its output. */
export async function system(program: string, words: readonly string[]): Promise<string> {
  const { stdout } = await run(program, words as string[], {
    maxBuffer: 64 * 1024 * 1024,
    env: { ...process.env, CPL_LOG: '/dev/null' },
  });
  return stdout;
}

/**
 * Whether a system part is there. On a machine without it the test says so and skips; with CI=true it must be there.
 * @throws Error when CI=true and the part is missing
 */
export function systemPart(program: string, debianPackage: string): boolean {
  const found = (process.env['PATH'] ?? '').split(delimiter).some((folder) => existsSync(join(folder, program)));
  if (found) return true;
  if (process.env['CI'] === 'true')
    throw new Error(`${program} (Debian package ${debianPackage}) is missing, and CI=true does not skip`);
  console.warn(`skipped: ${program} is not on this machine; install ${debianPackage} to run this`);
  return false;
}
