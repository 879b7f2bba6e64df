import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { Agent, get } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { startService } from '../support/running-service.js';
import { median, type Row } from './row.js';

const requestsEach = 6000;
const connections = 16;
const rounds = 5;

/** A cached tile of about 20 kB from the service, against a bare server in a process of its own, in turn. */
export async function run(): Promise<Row[]> {
  const folder = mkdtempSync(join(tmpdir(), 'wreckfield-http-'));
  const service = await startService();
  let bareProcess: ChildProcess | null = null;
  try {
    const address = await tileOfAbout(20_000, service.url);
    const bytes = Buffer.from(
      await (await fetch(address, { headers: { 'Accept-Encoding': 'identity' } })).arrayBuffer(),
    );
    const file = join(folder, 'tile.mvt');
    writeFileSync(file, bytes);
    const child = spawn(process.execPath, [join(import.meta.dirname, 'peers/bare-server.mjs'), file], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    bareProcess = child;
    const [port] = (await once(child.stdout, 'data')) as [Buffer];
    const bare = `http://127.0.0.1:${String(port).trim()}/`;
    const ours: number[] = [];
    const theirs: number[] = [];
    const rate = hasWrk() ? rateByWrk : rateByNode;
    for (let k = 0; k < rounds; k++) {
      theirs.push(await rate(bare));
      ours.push(await rate(address));
    }
    const share = median(ours) / median(theirs);
    return [
      {
        job: `a cached tile of ${(bytes.length / 1000).toFixed(1)} kB over HTTP, ${connections} connections`,
        peer: 'bare node:http server, same bytes',
        ours_ms: 1000 / median(ours),
        peer_ms: 1000 / median(theirs),
        ratio: share,
        note: `${Math.round(median(ours))} against ${Math.round(median(theirs))} requests a second, asked by ${hasWrk() ? 'wrk' : 'this process'}`,
        gate: '≥ 0.8× the bare server',
        pass: share >= 0.8 && Number.isFinite(share),
      },
    ];
  } finally {
    bareProcess?.kill();
    await service.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}

async function tileOfAbout(size: number, url: string): Promise<string> {
  const site = `${url}/sites/tarn-ledge`;
  const extent = (
    (await (await fetch(`${site}/collections/finds`)).json()) as { extent: { spatial: { bbox: number[][] } } }
  ).extent.spatial.bbox[0];
  const z = 21;
  const column = (lon: number) => Math.floor(((lon + 180) / 360) * 2 ** z);
  const row = (lat: number) => Math.floor((0.5 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / (2 * Math.PI)) * 2 ** z);
  let best = { address: '', gap: Number.POSITIVE_INFINITY };
  for (let x = column(extent[0]); x <= column(extent[2]); x++) {
    for (let y = row(extent[3]); y <= row(extent[1]); y++) {
      const address = `${site}/xyz/finds/${z}/${x}/${y}.mvt`;
      const length = (await (await fetch(address, { headers: { 'Accept-Encoding': 'identity' } })).arrayBuffer())
        .byteLength;
      if (Math.abs(length - size) < best.gap) best = { address, gap: Math.abs(length - size) };
    }
  }
  return best.address;
}

const hasWrk = () => spawnSync('wrk', ['--version']).error === undefined;

function rateByWrk(url: string): Promise<number> {
  const { stdout } = spawnSync('wrk', ['-t1', `-c${connections}`, '-d2s', url], { encoding: 'utf8' });
  return Promise.resolve(Number(/Requests\/sec:\s+([\d.]+)/.exec(stdout)?.[1]));
}

/** Asks so many times over kept connections. → answers a second */
async function rateByNode(url: string): Promise<number> {
  const agent = new Agent({ keepAlive: true, maxSockets: connections });
  let left = requestsEach;
  const start = performance.now();
  const one = () =>
    new Promise<void>((done, fail) => {
      get(url, { agent }, (response) => {
        response.resume();
        response.on('end', done);
      }).on('error', fail);
    });
  await Promise.all(
    Array.from({ length: connections }, async () => {
      while (left-- > 0) await one();
    }),
  );
  const seconds = (performance.now() - start) / 1000;
  agent.destroy();
  return requestsEach / seconds;
}
