import { bathymetryError, surveySigmaM } from '../domain/bathymetry.js';
import { projectionOf } from '../domain/crs.js';
import { gridFrame } from '../domain/grid.js';
import type { Raster } from '../domain/raster.js';
import type { BathymetryRecord, CsvForm, Site } from '../domain/site.js';
import { type SurfaceFile, type Survey, surveyOf } from '../domain/survey.js';
import { Complaints } from '../import/complaints.js';
import { readSiteFile } from '../import/site-file.js';
import type { CellRaster } from '../math/cell-raster.js';
import type { Box } from '../math/rings.js';
import { Problem } from '../problems.js';
import type { Store, Version } from '../storage/store.js';

/** Reads a surface file: where it lies, and its elevations on cells. Filled by the import room. */
export type SurfaceReader = (
  bytes: Uint8Array,
  request: {
    readonly stated: BathymetryRecord;
    readonly csv: CsvForm;
    /** of a surface with more than `mostCells` only this part, in the file's CRS; null = all of it */
    readonly near: ((crs: string) => Box) | null;
    readonly mostCells: number;
  },
) => Promise<{ readonly crs: string; readonly box: Box; cells(): CellRaster }>;

/** cells of a bathymetry held with its survey: half a metre over two hundred by three hundred metres */
const mostCellsHeld = 2 ** 18;
/** how far round the site grid a large bathymetry is held, metres */
const heldAroundM = 100;
/** cells of a bathymetry handed out at once */
const mostCellsHandedOut = 4_000_000;

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

  /** The whole of a received surface, elevations up-positive, in its projected CRS; null when there is none. */
  async surfaceRaster(survey: Survey): Promise<{ readonly raster: Raster; readonly crs: string } | null> {
    const { site, version } = survey;
    const stated = site.bathymetry;
    const bytes = stated && (await this.#store.readFile(site.id, version, stated.file));
    if (!stated || !bytes) return null;
    const request = { stated, csv: site.csv, near: null, mostCells: mostCellsHandedOut };
    const { crs, cells } = await this.#readSurface(bytes, request);
    const raster = cells();
    const { error } = bathymetryError(stated);
    const values = Float32Array.from(raster.values);
    return {
      crs,
      raster: {
        ...raster,
        title: `Bathymetry, elevation in ${stated.vertical_datum}, m`,
        unit: 'm',
        space: 'projected',
        values,
        sigma: values.map((v) => (Number.isNaN(v) ? v : surveySigmaM(error, v))),
      },
    };
  }
}

/** The site grid and its surroundings as a box of a projected CRS. */
function aroundGrid(site: Site): (crs: string) => Box {
  const frame = gridFrame(site.grids[0]);
  const width = frame.grid.columns * frame.grid.node_spacing + heldAroundM;
  const height = frame.grid.rows * frame.grid.node_spacing + heldAroundM;
  return (crs) => {
    const projection = projectionOf(crs);
    const corners = [
      [-heldAroundM, -heldAroundM],
      [width, -heldAroundM],
      [width, height],
      [-heldAroundM, height],
    ].map(([x, y]) => projection.fromLonLat(...frame.toLonLat(x, y)));
    const along = (k: 0 | 1) => corners.map((corner) => corner[k]);
    return [Math.min(...along(0)), Math.min(...along(1)), Math.max(...along(0)), Math.max(...along(1))];
  };
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
      surfaces.push(await surfaceFile(file, { site, stated: site.bathymetry, readSurface }));
    }
  }
  return { survey: surveyOf({ site, version: version.version, tables, surfaces }), version };
}

async function surfaceFile(
  bytes: Uint8Array,
  { site, stated, readSurface }: { site: Site; stated: BathymetryRecord; readSurface: SurfaceReader },
): Promise<SurfaceFile> {
  const near = aroundGrid(site);
  const { crs, box, cells } = await readSurface(bytes, { stated, csv: site.csv, near, mostCells: mostCellsHeld });
  const { words } = bathymetryError(stated);
  return {
    id: 'bathymetry',
    title: 'Bathymetry',
    unit: 'm',
    projectedBox: box,
    crs,
    path: stated.file,
    note: `elevation up positive${stated.sign === 'depth_down_positive' ? ' (received as depth down positive)' : ''}, metres to ${stated.vertical_datum}, ${words}, ${stated.licence}`,
    handedOut: stated.sign === 'elevation_up_positive' && /\.tiff?$/i.test(stated.file),
    cells,
  };
}
