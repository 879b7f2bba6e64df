import type { Map as TileMap } from 'maplibre-gl';

type LonLat = readonly [number, number];

/** The site grid on the ground: longitude and latitude of local (0, 0), (widthM, 0), (0, heightM). */
export interface GridOnGround {
  readonly widthM: number;
  readonly heightM: number;
  readonly origin: LonLat;
  readonly alongX: LonLat;
  readonly alongY: LonLat;
}

/** Site-grid metres → longitude, latitude; over the width of a wreck the plane of three corners is right to the millimetre. */
export function fromGrid(grid: GridOnGround, x: number, y: number): [number, number] {
  const at = (k: 0 | 1) =>
    grid.origin[k] +
    ((grid.alongX[k] - grid.origin[k]) * x) / grid.widthM +
    ((grid.alongY[k] - grid.origin[k]) * y) / grid.heightM;
  return [at(0), at(1)];
}

/** Longitude, latitude → site-grid metres. */
export function toGrid(grid: GridOnGround, [lon, lat]: LonLat): [number, number] {
  const a = (grid.alongX[0] - grid.origin[0]) / grid.widthM;
  const b = (grid.alongY[0] - grid.origin[0]) / grid.heightM;
  const c = (grid.alongX[1] - grid.origin[1]) / grid.widthM;
  const d = (grid.alongY[1] - grid.origin[1]) / grid.heightM;
  const u = lon - grid.origin[0];
  const v = lat - grid.origin[1];
  const determinant = a * d - b * c;
  return [(d * u - b * v) / determinant, (a * v - c * u) / determinant];
}

/** Largest of 1, 2, 5 times a power of ten that is not above `most`. */
export function roundBelow(most: number): number {
  const power = 10 ** Math.floor(Math.log10(most));
  const lead = most / power;
  return (lead >= 5 ? 5 : lead >= 2 ? 2 : 1) * power;
}

/** Pixels on the screen for one metre of the site grid, at the middle of the map. */
export function pixelsPerMetre(map: TileMap, grid: GridOnGround): number {
  const { lng, lat } = map.getCenter();
  const [x, y] = toGrid(grid, [lng, lat]);
  const here = map.project(fromGrid(grid, x, y));
  const there = map.project(fromGrid(grid, x + 10, y));
  return Math.hypot(there.x - here.x, there.y - here.y) / 10;
}

/** Writes site-grid metres along the frame while the sheet is square to the grid, and nothing while it is turned. */
export function drawFrameLabels(map: TileMap, holder: HTMLElement, grid: GridOnGround, isSquare: boolean): void {
  for (const old of holder.querySelectorAll('.frame-label')) old.remove();
  if (!isSquare) return;
  const { clientWidth: width, clientHeight: height } = map.getContainer();
  const corner = (x: number, y: number) => {
    const { lng, lat } = map.unproject([x, y]);
    return toGrid(grid, [lng, lat]);
  };
  const [west, north] = corner(0, 0);
  const [east, south] = corner(width, height);
  const step = roundBelow(90 / (width / (east - west))) || 1;
  const decimals = Math.max(0, -Math.floor(Math.log10(step)));
  const label = (side: 'bottom' | 'left', value: number, offsetPx: number) => {
    const mark = document.createElement('span');
    mark.className = `frame-label ${side}`;
    mark.textContent = value.toFixed(decimals).replace('-', '\u2212');
    if (side === 'bottom') mark.style.left = `${offsetPx}px`;
    else mark.style.top = `${offsetPx}px`;
    holder.append(mark);
  };
  for (let k = Math.ceil(west / step); k * step <= east; k++) {
    label('bottom', k * step, ((k * step - west) / (east - west)) * width);
  }
  for (let k = Math.ceil(south / step); k * step <= north; k++) {
    label('left', k * step, ((north - k * step) / (north - south)) * height);
  }
}
