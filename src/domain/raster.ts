/**
 * A surface on equal cells. Row 0 is the northernmost row of the map; the cell of row r and column c has its
 * centre at corner + (c + ½)·columnStep + (r + ½)·rowStep. Rows and columns run along the axes of the projected
 * CRS, so in site-grid metres the steps are turned by the azimuth of site_north; or, where that was asked for, along
 * the site grid.
 */
export interface Raster {
  readonly title: string;
  /** UCUM */
  readonly unit: string;
  readonly columns: number;
  readonly rows: number;
  /** north-west outer corner, metres of the space named by `space` */
  readonly corner: readonly [number, number];
  readonly columnStep: readonly [number, number];
  readonly rowStep: readonly [number, number];
  readonly space: 'site-grid' | 'projected';
  /** [rows × columns] row by row from the north; NaN = no value */
  readonly values: Float32Array;
  /** [rows × columns] standard deviation of each value, in the same unit: a second band; NaN = not known */
  readonly sigma?: Float32Array;
  /** [rows × columns] 1 = a guess beyond the ground that was levelled, 0 = not, NaN = no value: a band of its own */
  readonly beyond?: Float32Array;
}
