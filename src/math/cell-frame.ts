import { Problem } from '../problems.js';
import type { CellGrid } from './kernel-grid.js';
import { edgeSlack, type Region, regionBox } from './rings.js';

/**
 * Equal cells over a window, cut along the map's axes: the site grid is turned by the azimuth of site_north first.
 * Cell edges lie on whole multiples of the cell from the turned origin, so that two surfaces of one site agree.
 */
export interface CellFrame extends CellGrid, PlacedCells {
  readonly cellM: number;
}

/** Rows and columns of cells and where they lie. */
export interface PlacedCells {
  readonly columns: number;
  readonly rows: number;
  /** north-west outer corner and the steps of one column and one row, site-grid metres, as a Raster holds them */
  readonly corner: readonly [number, number];
  readonly columnStep: readonly [number, number];
  readonly rowStep: readonly [number, number];
}

/** Site-grid coordinates along the map's axes: east and north of the grid's origin. xy [2n] metres → [2n] metres. */
export function alongMapAxes(xy: Float64Array, azimuthDeg: number): Float64Array {
  if (azimuthDeg === 0) return xy;
  const [cos, sin] = turn(azimuthDeg);
  const out = new Float64Array(xy.length);
  for (let i = 0; i < xy.length; i += 2) {
    out[i] = xy[i] * cos + xy[i + 1] * sin;
    out[i + 1] = xy[i + 1] * cos - xy[i] * sin;
  }
  return out;
}

/** A region along the map's axes. */
export function regionAlongMapAxes(region: Region, azimuthDeg: number): Region {
  return { rings: region.rings.map((ring) => alongMapAxes(ring, azimuthDeg)) };
}

function turn(azimuthDeg: number): [number, number] {
  const angle = (azimuthDeg * Math.PI) / 180;
  return [Math.cos(angle), Math.sin(angle)];
}

/**
 * The cells that cover a window.
 * @param window  along the map's axes (regionAlongMapAxes), metres
 * @throws Problem too-much-work beyond 4 million cells
 */
export function cellFrame(window: Region, cellM: number, azimuthDeg: number): CellFrame {
  const [west, south, east, north] = regionBox(window);
  // a window edge on a cell edge stays there in spite of the last digit
  const firstColumn = Math.floor(west / cellM + 1e-9);
  const firstRow = Math.floor(south / cellM + 1e-9);
  const columns = Math.max(1, Math.ceil(east / cellM - 1e-9) - firstColumn);
  const rows = Math.max(1, Math.ceil(north / cellM - 1e-9) - firstRow);
  if (columns * rows > 4_000_000) {
    throw new Problem(
      'too-much-work',
      `cells of ${cellM} m over ${Math.round(east - west)} × ${Math.round(north - south)} m make ${columns} × ${rows} cells; at most 4,000,000 are drawn, ask for larger cells`,
      { cellM, columns, rows },
    );
  }
  const [cos, sin] = turn(azimuthDeg);
  const left = firstColumn * cellM;
  const top = (firstRow + rows) * cellM;
  return {
    columns,
    rows,
    cellM,
    x: left + cellM / 2,
    y: top - cellM / 2,
    stepX: cellM,
    stepY: -cellM,
    corner: [left * cos - top * sin, left * sin + top * cos],
    columnStep: [cellM * cos, cellM * sin],
    rowStep: [cellM * sin, -cellM * cos],
  };
}

/** A place counted in cells (0, 0 = centre of the first cell) → site-grid metres. */
export function framePlace(frame: PlacedCells, column: number, row: number): [number, number] {
  const { corner, columnStep, rowStep } = frame;
  return [
    corner[0] + (column + 0.5) * columnStep[0] + (row + 0.5) * rowStep[0],
    corner[1] + (column + 0.5) * columnStep[1] + (row + 0.5) * rowStep[1],
  ];
}

/**
 * Which cells have their centre inside a region; a centre on an edge counts as inside.
 * @returns [rows × columns] 1 = inside
 */
export function cellsInside(region: Region, grid: CellGrid): Uint8Array {
  const { columns, rows } = grid;
  const inside = new Uint8Array(columns * rows);
  const slack = edgeSlack(region);
  for (let r = 0; r < rows; r++) {
    const y = grid.y + r * grid.stepY;
    // just below and just above: an edge along the row belongs to the region whichever side it closes
    for (const level of [y - slack, y + slack]) {
      const crossings = crossingsAt(region, level);
      for (let k = 0; k + 1 < crossings.length; k += 2) {
        const first = Math.max(0, Math.ceil((crossings[k] - slack - grid.x) / grid.stepX));
        const last = Math.min(columns - 1, Math.floor((crossings[k + 1] + slack - grid.x) / grid.stepX));
        if (first <= last) inside.fill(1, r * columns + first, r * columns + last + 1);
      }
    }
  }
  return inside;
}

function crossingsAt(region: Region, y: number): number[] {
  const out: number[] = [];
  for (const ring of region.rings) {
    const m = ring.length;
    for (let i = 0; i < m; i += 2) {
      const j = i + 2 === m ? 0 : i + 2;
      const ay = ring[i + 1];
      const by = ring[j + 1];
      if (ay > y !== by > y) out.push(ring[i] + ((ring[j] - ring[i]) * (y - ay)) / (by - ay));
    }
  }
  return out.sort((a, b) => a - b);
}
