import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { Agent, get } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { startService } from '../support/running-service.js';
import { median, type Row } from './row.js';

const mvt = 'application/vnd.mapbox-vector-tile';
const requestsEach = 3000;
const connections = 16;
/** short and many: the clock of a shared machine wanders by more than what is measured */
const rounds = 15;

/**
 * A cached tile of about 20 kB from the service against bare servers in processes of their own: one that answers the
 * same bytes, headers included, and one that sends the body with the two headers it cannot do without.
 */
export async function run(): Promise<Row[]> {
  const folder = mkdtempSync(join(tmpdir(), 'wreckfield-http-'));
  const service = await startService();
  const bareServers: ChildProcess[] = [];
  try {
    const address = await tileOfAbout(20_000, service.url);
    const answer = await fetch(address, { headers: { 'Accept-Encoding': 'identity' } });
    const bytes = Buffer.from(await answer.arrayBuffer());
    const file = join(folder, 'tile.mvt');
    writeFileSync(file, bytes);
    const startBare = async (headers: readonly string[]) => {
      const words = [join(import.meta.dirname, 'peers/bare-server.mjs'), file, JSON.stringify(headers)];
      const child = spawn(process.execPath, words, { stdio: ['ignore', 'pipe', 'inherit'] });
      bareServers.push(child);
      const [port] = (await once(child.stdout, 'data')) as [Buffer];
      return `http://127.0.0.1:${String(port).trim()}/`;
    };
    const connectionHeaders = new Set(['date', 'connection', 'keep-alive']);
    const sameHeaders = [...answer.headers].filter(([name]) => !connectionHeaders.has(name)).flat();
    const peers = [
      { name: 'bare node:http server, same bytes with the same headers', url: await startBare(sameHeaders) },
      {
        name: 'bare node:http server, same body, two headers',
        url: await startBare(['Content-Type', mvt, 'Content-Length', String(bytes.length)]),
      },
    ];
    const rate = hasWrk() ? rateByWrk : rateByNode;
    const ours: number[] = [];
    const theirs: number[][] = peers.map(() => []);
    for (let k = 0; k < rounds; k++) {
      // in turn, and the turn changes its direction, so that a drift of the machine meets all alike
      const turn = [
        () => rate(address),
        ...peers.map(
          ({ url }) =>
            () =>
              rate(url),
        ),
      ];
      const order = turn.map((_, place) => (k % 2 === 0 ? place : turn.length - 1 - place));
      for (const place of order) (place === 0 ? ours : theirs[place - 1]).push(await turn[place]());
    }
    return peers.map(({ name }, p) => {
      const share = median(ours.map((value, k) => value / theirs[p][k]));
      return {
        job: `a cached tile of ${(bytes.length / 1000).toFixed(1)} kB over HTTP, ${connections} connections`,
        peer: name,
        ours_ms: 1000 / median(ours),
        peer_ms: 1000 / median(theirs[p]),
        ratio: share,
        note: `${Math.round(median(ours))} against ${Math.round(median(theirs[p]))} requests a second, asked by ${hasWrk() ? 'wrk' : 'this process'}; ratio is the median of ${rounds} rounds in turn`,
        gate: p === 0 ? '≥ 0.8× the bare server' : null,
        pass: p === 0 ? share >= 0.8 && Number.isFinite(share) : null,
      };
    });
  } finally {
    for (const child of bareServers) child.kill();
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
  const { stdout } = spawnSync('wrk', ['-t1', `-c${connections}`, '-d1s', url], { encoding: 'utf8' });
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
