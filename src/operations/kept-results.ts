import type { CollectionEntry } from '../domain/collections.js';
import { shapes, tableOf } from '../domain/columns.js';
import type { FeatureTable } from '../domain/feature-table.js';
import type { Raster } from '../domain/raster.js';
import type { Survey } from '../domain/survey.js';
import type { JobRecord, Store } from '../storage/store.js';
import { answerFromParts, type KeptAnswer, partNames } from './answer-parts.js';
import { PublishedCollection } from './published-collection.js';

/** Layers of one finished job. */
export interface ResultLayers {
  readonly collections: readonly PublishedCollection[];
  readonly coverage: Raster | null;
}

/** Kept results as collections, read from the store once and held as long as the job is. */
export class KeptResults {
  readonly #store: Store;
  readonly #held = new Map<string, ResultLayers>();

  constructor(store: Store) {
    this.#store = store;
  }

  /** Layers of all kept results of a site, newest first. */
  async of(survey: Survey): Promise<readonly ResultLayers[]> {
    const jobs = (await this.#store.jobs(survey.site.id)).filter((job) => job.status === 'successful');
    const ids = new Set(jobs.map((job) => job.id));
    for (const id of this.#held.keys()) if (!ids.has(id)) this.#held.delete(id);
    const layers: ResultLayers[] = [];
    for (const job of jobs) {
      let held = this.#held.get(job.id);
      if (!held) {
        held = await this.#read(job, survey);
        this.#held.set(job.id, held);
      }
      layers.push(held);
    }
    return layers;
  }

  async #read(job: JobRecord, survey: Survey): Promise<ResultLayers> {
    const parts = new Map<string, Uint8Array>();
    for (const name of partNames) {
      const bytes = await this.#store.readResult(job.id, name);
      if (bytes) parts.set(name, bytes);
    }
    // echo keeps no layers
    if (!parts.has('answer.json')) return { collections: [], coverage: null };
    const answer = answerFromParts(parts);
    const collections: PublishedCollection[] = [];
    const entry = (output: string, geometryType: CollectionEntry['geometryType'], surface: boolean) => ({
      id: `result-${job.id}-${output}`,
      title: `${answer.provenance['process']} of ${subject(answer)}: ${output}`,
      description: `${answer.methods.slice(0, 400)}${answer.methods.length > 400 ? ' …' : ''}`,
      geometryType,
      ...(surface ? { surface: true as const } : {}),
    });
    if (answer.features?.geometry) {
      collections.push(
        new PublishedCollection(entry('features', answer.features.geometry.type, false), answer.features, survey.frame),
      );
    }
    if (answer.coverage) {
      collections.push(
        new PublishedCollection(entry('coverage', 'area', true), footprint(answer.coverage), survey.frame),
      );
    }
    return { collections, coverage: answer.coverage };
  }
}

/** What an answer is about, in a few words: classes and seasons. */
export function subject(answer: KeptAnswer): string {
  const parameters = answer.provenance['parameters'] as { artefact_class?: string[]; season?: string[] };
  const classes = parameters.artefact_class?.join(', ') || 'all finds';
  const seasons = parameters.season?.join(', ') || 'all seasons';
  return `${classes}, ${seasons}`;
}

/** Outline of a surface, the one feature its collection answers beside the coverage. */
function footprint(raster: Raster): FeatureTable {
  const at = (column: number, row: number) =>
    [0, 1].map((k) => raster.corner[k] + column * raster.columnStep[k] + row * raster.rowStep[k]);
  const ring = [at(0, raster.rows), at(raster.columns, raster.rows), at(raster.columns, 0), at(0, 0)].flat();
  return tableOf({
    name: 'footprint',
    fields: [
      { name: 'title', title: 'Surface', type: 'text' },
      { name: 'unit', title: 'Unit of its values', type: 'text' },
      { name: 'columns', title: 'Columns', type: 'integer', unit: '1' },
      { name: 'rows', title: 'Rows', type: 'integer', unit: '1' },
    ],
    rows: [{ title: raster.title, unit: raster.unit, columns: raster.columns, rows: raster.rows }],
    geometry: shapes('area', [[{ ring: Float64Array.from(ring) }]]),
  });
}
