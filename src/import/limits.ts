const mebibyte = 2 ** 20;

/** How large the files of a site folder may be: far beyond any real site, close enough to stop a runaway or hostile file. */
export interface ImportLimits {
  readonly csvBytes: number;
  readonly csvRowBytes: number;
  readonly csvColumns: number;
  readonly siteFileBytes: number;
  readonly adjustmentBytes: number;
  readonly geojsonBytes: number;
  readonly geojsonDepth: number;
  readonly geojsonPositions: number;
  readonly workbookBytes: number;
  /** all parts of a workbook once inflated */
  readonly workbookInflatedBytes: number;
  readonly workbookRatio: number;
  readonly workbookParts: number;
  readonly workbookCells: number;
  readonly rasterBytes: number;
  readonly soundingsBytes: number;
}

export const defaultLimits: ImportLimits = {
  csvBytes: 4096 * mebibyte,
  csvRowBytes: mebibyte,
  csvColumns: 500,
  siteFileBytes: 4 * mebibyte,
  adjustmentBytes: 64 * mebibyte,
  geojsonBytes: 64 * mebibyte,
  geojsonDepth: 32,
  geojsonPositions: 2_000_000,
  workbookBytes: 64 * mebibyte,
  workbookInflatedBytes: 256 * mebibyte,
  workbookRatio: 100,
  workbookParts: 1000,
  workbookCells: 2_000_000,
  rasterBytes: 512 * mebibyte,
  soundingsBytes: 64 * mebibyte,
};

/** A size in words. */
export function sizeInWords(bytes: number): string {
  return bytes >= mebibyte ? `${Math.floor(bytes / mebibyte)} MiB` : `${bytes} bytes`;
}
