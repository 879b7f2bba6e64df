import { createHash } from 'node:crypto';
import * as z from 'zod';
import { Problem } from '../problems.js';
import type { Store } from '../storage/store.js';
import type { Complaints } from './complaints.js';
import { parseJson } from './json-text.js';
import type { SiteFolder } from './site-folder.js';

/** The file of a site folder that holds an accepted proposal of survey-adjustment, as the process wrote it. */
export const adjustmentFileName = 'accepted-adjustment.json';

const metres = z.number().min(-200_000).max(200_000);
const deviation = z.number().min(0).max(10_000);

const point = z.object({
  x: metres,
  y: metres,
  z: metres.optional(),
  sx: deviation,
  sy: deviation,
  sz: deviation.optional(),
  weak: z.boolean().default(false),
});
/** Where a proposal puts a point. */
export type AdjustedPoint = z.output<typeof point>;

const reading = z.object({
  row: z.int().min(1),
  state: z.enum(['used', 'set_aside', 'not_used']),
  residual: z.number().nullable().default(null),
  normalised: z.number().nullable().default(null),
  cause: z.string().nullable().default(null),
});
/** What a proposal says of a reading. */
export type AdjustedReading = z.output<typeof reading>;

const proposal = z.object({
  summary: z.object({ points: z.record(z.string(), point), measurements: z.array(reading) }),
  provenance: z.object({
    process: z.string(),
    site: z.string().nullable(),
    data_version: z.int().min(1).nullable(),
  }),
});

/** A proposal of survey-adjustment that an import accepts. */
export interface AcceptedAdjustment {
  /** start of the SHA-256 of its file: the same proposal has the same name everywhere */
  readonly id: string;
  readonly fromVersion: number;
  readonly points: ReadonlyMap<string, AdjustedPoint>;
  /** by row of the measurements, from 1 */
  readonly readings: ReadonlyMap<number, AdjustedReading>;
}

/** A folder with a proposal put into it, whether or not it holds one already. */
export function withAdjustment(folder: SiteFolder, bytes: Uint8Array): SiteFolder {
  return {
    async entries() {
      const others = (await folder.entries()).filter(({ name }) => name !== adjustmentFileName);
      return [...others, { name: adjustmentFileName, kind: 'file' as const }].sort((a, b) =>
        a.name < b.name ? -1 : 1,
      );
    },
    async *read(name) {
      if (name === adjustmentFileName) yield bytes;
      else yield* folder.read(name);
    },
  };
}

/** Reads a proposal as `run survey-adjustment --site … --json` writes it. → null when complaints were added */
export function readAdjustment(bytes: Uint8Array, site: string, complaints: Complaints): AcceptedAdjustment | null {
  const refuse = (reason: string): null => {
    complaints.addFile(adjustmentFileName, reason);
    return null;
  };
  let given: unknown;
  try {
    given = parseJson(bytes, 32);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return refuse(error.message);
  }
  const parsed = proposal.safeParse(given);
  if (!parsed.success) {
    const [issue] = parsed.error.issues;
    return refuse(
      `is no answer of survey-adjustment (${issue.path.map(String).join('.') || 'whole file'}: ${issue.message}); write one with: wreckfield run survey-adjustment --site ${site} --json`,
    );
  }
  const { summary, provenance } = parsed.data;
  if (provenance.process !== 'survey-adjustment')
    return refuse(`is an answer of ${provenance.process}; only one of survey-adjustment can be accepted`);
  if (provenance.site !== site)
    return refuse(
      provenance.site === null
        ? 'was made from plain files; run survey-adjustment on the stored site, so that it is known which readings it rests on'
        : `was made for the site ${provenance.site}, not for ${site}`,
    );
  if (provenance.data_version === null) return refuse('does not say which data version it was made from');
  const points = new Map(Object.entries(summary.points));
  if (points.size === 0) return refuse('places no point: there is nothing to accept');
  return {
    id: createHash('sha256').update(bytes).digest('hex').slice(0, 12),
    fromVersion: provenance.data_version,
    points,
    readings: new Map(summary.measurements.map((one) => [one.row, one])),
  };
}

/** Files a proposal rests on: with other readings it would be another. */
const restsOn = (name: string) =>
  ['control-points.csv', 'measurements.csv', 'tide.csv'].includes(name) || /\.xlsx$/i.test(name);

/**
 * Complains when a proposal was made from other readings than those of the folder.
 * @param hashes  SHA-256 of the files just read, by name
 */
export async function checkReadings(
  store: Pick<Store, 'versions' | 'files'>,
  { fromVersion }: AcceptedAdjustment,
  read: { readonly site: string; readonly hashes: ReadonlyMap<string, string>; readonly complaints: Complaints },
): Promise<void> {
  const { site, hashes, complaints } = read;
  const versions = await store.versions(site);
  if (!versions.some(({ version }) => version === fromVersion)) {
    const newest = versions.at(-1)?.version;
    complaints.addFile(
      adjustmentFileName,
      `was made from data version ${fromVersion}, which is not stored here (${newest === undefined ? 'the site has none yet' : `there are 1 to ${newest}`}); import the folder first and run survey-adjustment on it`,
    );
    return;
  }
  const before = new Map((await store.files(site, fromVersion)).map(({ path, sha256 }) => [path, sha256]));
  for (const name of [...new Set([...before.keys(), ...hashes.keys()])].filter(restsOn).sort()) {
    if (before.get(name) === hashes.get(name)) continue;
    complaints.addFile(
      adjustmentFileName,
      `was made from data version ${fromVersion}, ${before.has(name) ? `whose ${name} was another` : `which had no ${name}`}; import the folder without it, run survey-adjustment on that version and accept the new proposal`,
    );
    return;
  }
}
