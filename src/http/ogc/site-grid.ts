import { firstGridCrs } from '../../domain/grid-crs.js';
import type { SurveyView } from '../../operations/service.js';

/** The site grid as a CRS to paste, as collections and the sheet tell it. */
export interface SiteGridText {
  readonly grid: string;
  readonly title: string;
  readonly proj: string;
  readonly wkt2: string | null;
  readonly site_north_from_true_north_deg: number;
  readonly deviation_m: number;
}

/** The first grid of a site as a CRS, in the words of our documents; null when none fits it. */
export function siteGridText({ site }: SurveyView): SiteGridText | null {
  const crs = firstGridCrs(site);
  if (crs === null) return null;
  return {
    grid: crs.grid,
    title: crs.title,
    proj: crs.proj,
    wkt2: crs.wkt2,
    site_north_from_true_north_deg: Number(crs.azimuthFromTrueNorthDeg.toFixed(6)),
    deviation_m: Number(crs.deviationM.toPrecision(2)),
  };
}
