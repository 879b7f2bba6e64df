import { type SurfaceFile, type Survey, surveyOf } from '../domain/survey.js';
import { Complaints } from '../import/complaints.js';
import { readSiteFile } from '../import/site-file.js';
import { Problem } from '../problems.js';
import type { Store, Version } from '../storage/store.js';

/** Reads where a surface file lies; filled by the import room's GeoTIFF reader. */
export type SurfaceReader = (
  bytes: Uint8Array,
) => Promise<{ readonly crs: string; readonly box: SurfaceFile['projectedBox'] }>;

/** A survey together with the version it is of. */
export interface ShelvedSurvey {
  readonly survey: Survey;
  readonly version: Version;
}

/**
 * Surveys in memory: at most three data versions at a time, read from the store when first asked for. Imports by
 * other processes are noticed by asking the store's pulse.
 */
export class SurveyShelf {
  readonly #store: Store;
  readonly #readSurface: SurfaceReader;
  readonly #most: number;
  /** most recently used last */
  readonly #held = new Map<string, Promise<ShelvedSurvey>>();
  readonly #versions = new Map<string, readonly Version[]>();
  #pulse = -1;
  #revision = 0;

  constructor(store: Store, readSurface: SurfaceReader, most = 3) {
    this.#store = store;
    this.#readSurface = readSurface;
    this.#most = most;
  }

  /** Rises whenever a site gets a version, and when `touch` is called. */
  get revision(): number {
    return this.#revision;
  }

  touch(): void {
    this.#revision++;
  }

  /** Asks the store whether anything was imported since; cheap, called by a timer. */
  async refresh(): Promise<void> {
    const pulse = await this.#store.pulse();
    if (pulse === this.#pulse) return;
    this.#pulse = pulse;
    this.#versions.clear();
    this.#revision++;
  }

  /** @throws Problem no-such-site */
  async versions(site: string): Promise<readonly Version[]> {
    let versions = this.#versions.get(site);
    if (!versions) {
      versions = await this.#store.versions(site);
      this.#versions.set(site, versions);
    }
    if (versions.length === 0) {
      const sites = (await this.#store.sites()).map((s) => s.id);
      throw new Problem(
        'no-such-site',
        `there is no site "${site}" here${sites.length > 0 ? `; the sites are ${sites.join(', ')}` : ' and none was imported yet'}`,
        { site },
      );
    }
    return versions;
  }

  /** @param version  null = the newest; @throws Problem no-such-site, no-such-version */
  async get(site: string, version: number | null): Promise<ShelvedSurvey> {
    const versions = await this.versions(site);
    const wanted = version === null ? versions[versions.length - 1] : versions.find((v) => v.version === version);
    if (!wanted) {
      throw new Problem(
        'no-such-version',
        `site ${site} has no data version ${version}; it has 1 to ${versions[versions.length - 1].version}`,
        { version },
      );
    }
    const key = `${site}@${wanted.version}`;
    let held = this.#held.get(key);
    this.#held.delete(key);
    held ??= readSurvey(this.#store, wanted, this.#readSurface);
    this.#held.set(key, held);
    // a reading that failed is tried again when next asked for
    held.catch(() => this.#held.delete(key));
    while (this.#held.size > this.#most) this.#held.delete([...this.#held.keys()][0]);
    return held;
  }
}

async function readSurvey(store: Store, version: Version, readSurface: SurfaceReader): Promise<ShelvedSurvey> {
  const bytes = await store.readFile(version.site, version.version, 'site.json');
  if (!bytes) throw new Error(`version ${version.version} of ${version.site} has no site.json`);
  const complaints = new Complaints();
  const site = readSiteFile(bytes, complaints);
  if (!site)
    throw new Error(
      `site.json of ${version.site}, version ${version.version}, no longer reads: ${complaints.first[0]?.reason}`,
    );
  const tables = new Map();
  for (const { name } of version.tables) {
    const table = await store.readTable(version.site, version.version, name);
    if (table) tables.set(name, table);
  }
  const surfaces: SurfaceFile[] = [];
  if (site.bathymetry) {
    const file = await store.readFile(version.site, version.version, site.bathymetry.file);
    if (file) {
      const { crs, box } = await readSurface(file);
      const { vertical_datum, sign, uncertainty_m, licence } = site.bathymetry;
      surfaces.push({
        id: 'bathymetry',
        title: 'Bathymetry',
        unit: 'm',
        projectedBox: box,
        crs,
        path: site.bathymetry.file,
        note: `${sign.replaceAll('_', ' ')}, metres to ${vertical_datum}, ± ${uncertainty_m} m (95 %), ${licence}`,
      });
    }
  }
  return { survey: surveyOf({ site, version: version.version, tables, surfaces }), version };
}
