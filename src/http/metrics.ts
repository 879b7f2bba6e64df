import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from 'prom-client';
import type { TileFront } from './tile-front.js';

/** Counts what the service does, for the page /metrics: no address parts that could name a place or a person. */
export class Metrics {
  private readonly registry = new Registry();
  private readonly requests: Counter<'operation' | 'status'>;
  private readonly seconds: Histogram<'operation'>;

  /** @param process also report memory, processor and event-loop delay of this process */
  constructor(tiles: TileFront, options: { readonly process: boolean }) {
    const registers = [this.registry];
    this.requests = new Counter({
      name: 'wreckfield_requests_total',
      help: 'Requests answered by the router',
      labelNames: ['operation', 'status'],
      registers,
    });
    this.seconds = new Histogram({
      name: 'wreckfield_request_seconds',
      help: 'Time to answer',
      labelNames: ['operation'],
      buckets: [0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1, 3, 10, 30],
      registers,
    });
    const front = (name: string, help: string, value: () => number) =>
      new Gauge({
        name,
        help,
        registers,
        collect() {
          this.set(value());
        },
      });
    front('wreckfield_tile_front_hits', 'Tiles answered from memory before the router', () => tiles.hits);
    front('wreckfield_tile_front_misses', 'Tiles made', () => tiles.misses);
    front('wreckfield_tile_front_bytes', 'Bytes of tiles held in memory', () => tiles.size);
    if (options.process) collectDefaultMetrics({ register: this.registry });
  }

  count(operation: string, status: number, seconds: number): void {
    this.requests.inc({ operation, status: String(status) });
    this.seconds.observe({ operation }, seconds);
  }

  async text(): Promise<{ mediaType: string; text: string }> {
    return { mediaType: this.registry.contentType, text: await this.registry.metrics() };
  }
}
