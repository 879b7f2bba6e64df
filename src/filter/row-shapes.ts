import type { FeatureTable, Geometry } from '../domain/feature-table.js';
import type { LiteralPlane } from './geometry-literal.js';
import { type Locator, locatorOf } from './locate.js';
import { type PlaneShape, planeShape } from './plane-shape.js';

/** one degree of latitude in metres, near enough to tell a tenth of a millimetre */
const metresPerDegree = 111_132;

/**
 * The geometries of a table in the plane its filter is written in, moved to a local origin and stretched to metres:
 * straight edges stay straight, as both sides mean them, and no digit is lost.
 */
export class RowShapes {
  readonly #geometry: Geometry | null;
  readonly #places: Float64Array;
  readonly #origin: readonly [number, number];
  readonly #scale: readonly [number, number];
  readonly #locators: (Locator | null | undefined)[] = [];

  constructor(table: FeatureTable, places: Float64Array, unit: LiteralPlane['unit']) {
    this.#geometry = table.geometry;
    this.#places = places;
    let first = 0;
    while (first < places.length && Number.isNaN(places[first])) first += 2;
    this.#origin = first < places.length ? [places[first], places[first + 1]] : [0, 0];
    const parallel = metresPerDegree * Math.cos((this.#origin[1] * Math.PI) / 180);
    this.#scale = unit === 'degree' ? [parallel, metresPerDegree] : [1, 1];
  }

  /** the rows are points, which have a quicker way */
  get arePoints(): boolean {
    return this.#geometry?.type === 'point';
  }

  /** How a place becomes metres of this plane: (places[i] − origin) × scale. */
  get frame() {
    const [originX, originY] = this.#origin;
    const [scaleX, scaleY] = this.#scale;
    return { places: this.#places, originX, originY, scaleX, scaleY };
  }

  /** Whether a row has a geometry. */
  has(row: number): boolean {
    return this.arePoints ? !Number.isNaN(this.#places[2 * row]) : this.locator(row) !== null;
  }

  /** A shape written in the filter, in this plane. */
  literal({ dimension, parts }: PlaneShape): PlaneShape {
    return planeShape(
      dimension,
      parts.map((part) => this.#moved(part)),
    );
  }

  /** Where places lie in the geometry of a row; null = it has none. */
  locator(row: number): Locator | null {
    let found = this.#locators[row];
    if (found === undefined) {
      const shape = this.#shape(row);
      found = shape === null ? null : locatorOf(shape);
      this.#locators[row] = found;
    }
    return found;
  }

  #shape(row: number): PlaneShape | null {
    const geometry = this.#geometry;
    if (geometry === null) return null;
    if (geometry.type === 'point') {
      if (!this.has(row)) return null;
      return planeShape(0, [this.#moved(this.#places.subarray(2 * row, 2 * row + 2))]);
    }
    const parts: Float64Array[] = [];
    for (let p = geometry.featureStart[row]; p < geometry.featureStart[row + 1]; p++) {
      parts.push(this.#moved(this.#places.subarray(2 * geometry.partStart[p], 2 * geometry.partStart[p + 1])));
    }
    if (parts.length === 0) return null;
    return planeShape(geometry.type === 'line' ? 1 : 2, parts);
  }

  #moved(part: Float64Array): Float64Array {
    const out = new Float64Array(part.length);
    for (let i = 0; i < part.length; i += 2) {
      out[i] = (part[i] - this.#origin[0]) * this.#scale[0];
      out[i + 1] = (part[i + 1] - this.#origin[1]) * this.#scale[1];
    }
    return out;
  }
}

const made = new WeakMap<Float64Array, RowShapes>();

/** The same for the same coordinates: preparing the shapes of a layer is dearer than asking them. */
export function rowShapes(table: FeatureTable, places: Float64Array, unit: LiteralPlane['unit']): RowShapes {
  let found = made.get(places);
  if (!found) {
    found = new RowShapes(table, places, unit);
    made.set(places, found);
  }
  return found;
}
