import { deserialize, serialize } from 'node:v8';
import type { AnswerTable } from '../analyses/contract.js';
import type { RunAnswer } from '../analyses/execute.js';
import type { FeatureTable } from '../domain/feature-table.js';
import type { Raster } from '../domain/raster.js';
import type { SurfaceMesh } from '../domain/surface-mesh.js';
import { svgText } from '../figures/svg.js';

/** An answer as it is kept: JSON and SVG as text, the layer and the surface as columns. */
export interface KeptAnswer {
  readonly summary: Readonly<Record<string, unknown>>;
  readonly table: AnswerTable;
  readonly methods: string;
  readonly cautions: readonly string[];
  readonly provenance: Readonly<Record<string, unknown>>;
  readonly figure: string;
  readonly features: FeatureTable | null;
  readonly coverage: Raster | null;
  readonly mesh: SurfaceMesh | null;
}

export type AnswerParts = ReadonlyMap<string, Uint8Array>;

const utf8 = new TextEncoder();

/** Takes an answer apart for the store. Equal answers give equal bytes. */
export function answerParts(answer: RunAnswer): AnswerParts {
  const { summary, table, methods, cautions, provenance } = answer;
  const parts = new Map<string, Uint8Array>([
    ['answer.json', utf8.encode(JSON.stringify({ summary, table, methods, cautions, provenance }))],
    ['figure.svg', utf8.encode(svgText(answer.figure))],
  ]);
  if (answer.features) parts.set('features', serialize(answer.features));
  if (answer.coverage) parts.set('coverage', serialize(answer.coverage));
  if (answer.mesh) parts.set('mesh', serialize(answer.mesh));
  return parts;
}

/** Puts an answer together again. */
export function answerFromParts(parts: AnswerParts): KeptAnswer {
  const text = (name: string) => new TextDecoder().decode(parts.get(name));
  const columns = <T>(name: string): T | null => {
    const bytes = parts.get(name);
    return bytes ? (deserialize(bytes) as T) : null;
  };
  return {
    ...JSON.parse(text('answer.json')),
    figure: text('figure.svg'),
    features: columns<FeatureTable>('features'),
    coverage: columns<Raster>('coverage'),
    mesh: columns<SurfaceMesh>('mesh'),
  };
}

/** The names of all parts an answer may have. */
export const partNames = ['answer.json', 'figure.svg', 'features', 'coverage', 'mesh'] as const;
