import { createHash } from 'node:crypto';
import { softwareVersion } from '../../analyses/software.js';
import type { GeoPackageWriter } from '../../storage/geopackage.js';
import type { Download, DownloadFormat, Selection } from '../service.js';
import { writeArchive } from './archive-file.js';
import { DownloadFiles } from './download-files.js';
import { downloadName, type ExportedSite } from './exported-site.js';
import { geoPackageContent } from './geopackage-content.js';
import { writePmtiles } from './pmtiles-file.js';

/** What the writers of downloads need beside the site. */
export interface DownloadRooms {
  readonly writeGeoPackage: GeoPackageWriter;
}

/** How one kind of download is written. */
interface Kind {
  readonly ending: string;
  readonly mediaType: string;
  write(site: ExportedSite, path: string, rooms: DownloadRooms): Promise<void>;
}

const kinds: Readonly<Record<DownloadFormat, Kind>> = {
  gpkg: {
    ending: '.gpkg',
    mediaType: 'application/geopackage+sqlite3',
    write: async (site, path, { writeGeoPackage }) => writeGeoPackage(path, await geoPackageContent(site)),
  },
  pmtiles: { ending: '.pmtiles', mediaType: 'application/vnd.pmtiles', write: writePmtiles },
  archive: { ending: '-archive.zip', mediaType: 'application/zip', write: writeArchive },
};

/** Writes downloads of whole sites to files, each once for the same site, version and selection. */
export class Downloads {
  readonly #rooms: DownloadRooms;
  readonly #files = new DownloadFiles();

  constructor(rooms: DownloadRooms) {
    this.#rooms = rooms;
  }

  /** @param request.gather  called only when the file is not there yet: it walks all records */
  async get(request: {
    readonly of: Pick<ExportedSite, 'survey' | 'version'>;
    readonly format: DownloadFormat;
    readonly selection: Selection;
    gather(): ExportedSite;
  }): Promise<Download> {
    const { of, format, selection } = request;
    const { version, survey } = of;
    const kind = kinds[format];
    const key = JSON.stringify([
      survey.site.id,
      version.version,
      version.contentHash,
      survey.identifiedAsOf,
      format,
      selection,
      softwareVersion,
    ]);
    const { path, size } = await this.#files.get(key, (made) => kind.write(request.gather(), made, this.#rooms));
    return {
      path,
      size,
      fileName: downloadName(of, kind.ending),
      mediaType: kind.mediaType,
      tag: createHash('sha256').update(key).digest('hex').slice(0, 22),
    };
  }
}

/** What a selection leaves, as a sentence for titles and descriptions; null = everything. */
export function selectionSentence(selection: Selection, identifiedAsOf: string | null): string | null {
  const parts = [
    ...(selection.seasons.length > 0 ? [`seasons ${selection.seasons.join(', ')}`] : []),
    ...(selection.classes.length > 0 ? [`artefact classes ${selection.classes.join(', ')}`] : []),
    ...(selection.filter ? [`filter ${selection.filter.key}`] : []),
    ...(identifiedAsOf === null ? [] : [`classes as identified on ${identifiedAsOf}`]),
  ];
  return parts.length === 0 ? null : parts.join('; ');
}
