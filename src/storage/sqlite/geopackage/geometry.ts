import type { Geometry } from '../../../domain/feature-table.js';

/** Geometry types a layer may declare; every geometry in it is of that type. */
export type LayerType = 'POINT' | 'LINESTRING' | 'MULTILINESTRING' | 'POLYGON' | 'MULTIPOLYGON';

/** A geometry as a GeoPackage keeps it, with the box the index needs: west, south, east, north. */
export interface GeometryBlob {
  readonly bytes: Buffer;
  readonly box: readonly [number, number, number, number];
}

export interface GeometryWriter {
  readonly type: LayerType;
  /** null when the record has no place */
  blob(row: number): GeometryBlob | null;
}

const codes = { POINT: 1, LINESTRING: 2, POLYGON: 3, MULTILINESTRING: 5, MULTIPOLYGON: 6 } as const;

/**
 * Writes the geometries of one layer as GeoPackage blobs (little-endian WKB behind the `GP` header, lines and areas
 * with their box). As soon as one shape has several parts, the whole layer is of the type of several.
 * @param coordinates  interleaved east, north, parallel to the geometry's own; left untouched
 */
export function geometryWriter(geometry: Geometry, coordinates: Float64Array, referenceId: number): GeometryWriter {
  if (geometry.type === 'point') {
    return {
      type: 'POINT',
      blob(row) {
        const [x, y] = [coordinates[2 * row], coordinates[2 * row + 1]];
        if (Number.isNaN(x) || Number.isNaN(y)) return null;
        const out = new Blob(8 + 21, referenceId, null);
        out.start(codes.POINT);
        out.corner(x, y);
        return { bytes: out.bytes, box: [x, y, x, y] };
      },
    };
  }
  const shapes = shapeReader(geometry);
  const several = Array.from({ length: geometry.featureStart.length - 1 }, (_, row) => shapes(row).length).some(
    (parts) => parts > 1,
  );
  const single = geometry.type === 'line' ? 'LINESTRING' : 'POLYGON';
  const type: LayerType = several ? `MULTI${single}` : single;
  return {
    type,
    blob(row) {
      const parts = shapes(row);
      const box = boxOf(parts.flat(), coordinates);
      if (box === null) return null;
      const out = new Blob(8 + 32 + wkbSize(parts, geometry.type === 'area') + (several ? 9 : 0), referenceId, box);
      if (several) {
        out.start(codes[type]);
        out.count(parts.length);
      }
      for (const rings of parts) {
        out.start(codes[single]);
        if (geometry.type === 'area') out.count(rings.length);
        for (const ring of rings) out.ring(ring, coordinates, geometry.type === 'area');
      }
      return { bytes: out.bytes, box };
    },
  };
}

/** First corner of a part and the one after its last. */
type Span = readonly [number, number];

/** The parts of a record: each line alone; each outer ring with its holes. Parts too short to be one are left out. */
function shapeReader(geometry: Extract<Geometry, { type: 'line' | 'area' }>): (row: number) => Span[][] {
  const fewest = geometry.type === 'line' ? 2 : 3;
  return (row) => {
    const parts: Span[][] = [];
    let outerIsThere = false;
    for (let p = geometry.featureStart[row]; p < geometry.featureStart[row + 1]; p++) {
      const span: Span = [geometry.partStart[p], geometry.partStart[p + 1]];
      const whole = span[1] - span[0] >= fewest;
      if (geometry.type === 'area' && geometry.hole[p] === 1) {
        if (whole && outerIsThere) parts[parts.length - 1].push(span);
        continue;
      }
      outerIsThere = whole;
      if (whole) parts.push([span]);
    }
    return parts;
  };
}

function wkbSize(parts: readonly (readonly Span[])[], closed: boolean): number {
  let size = 0;
  for (const rings of parts) {
    size += closed ? 9 : 5;
    for (const [first, end] of rings) size += 4 + 16 * (end - first + (closed ? 1 : 0));
  }
  return size;
}

function boxOf(spans: readonly Span[], coordinates: Float64Array): [number, number, number, number] | null {
  const box: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [first, end] of spans) {
    for (let k = first; k < end; k++) {
      const [x, y] = [coordinates[2 * k], coordinates[2 * k + 1]];
      // an unknown corner leaves a shape without a place
      if (Number.isNaN(x) || Number.isNaN(y)) return null;
      box[0] = Math.min(box[0], x);
      box[1] = Math.min(box[1], y);
      box[2] = Math.max(box[2], x);
      box[3] = Math.max(box[3], y);
    }
  }
  return box[0] <= box[2] ? box : null;
}

class Blob {
  readonly bytes: Buffer;
  private at = 0;

  /** @param box  west, south, east, north; written in the order of the format: both x, both y */
  constructor(size: number, referenceId: number, box: readonly [number, number, number, number] | null) {
    this.bytes = Buffer.alloc(size);
    this.at = this.bytes.write('GP', 0, 'latin1');
    this.bytes[this.at++] = 0;
    // little-endian; with a box of x and y
    this.bytes[this.at++] = box === null ? 0x01 : 0x03;
    this.at = this.bytes.writeInt32LE(referenceId, this.at);
    if (box !== null) for (const value of [box[0], box[2], box[1], box[3]]) this.double(value);
  }

  private double(value: number): void {
    this.at = this.bytes.writeDoubleLE(value, this.at);
  }

  start(code: number): void {
    this.bytes[this.at++] = 1;
    this.at = this.bytes.writeUInt32LE(code, this.at);
  }

  count(value: number): void {
    this.at = this.bytes.writeUInt32LE(value, this.at);
  }

  corner(x: number, y: number): void {
    this.double(x);
    this.double(y);
  }

  ring([first, end]: Span, coordinates: Float64Array, closed: boolean): void {
    this.count(end - first + (closed ? 1 : 0));
    for (let k = first; k < end; k++) this.corner(coordinates[2 * k], coordinates[2 * k + 1]);
    if (closed) this.corner(coordinates[2 * first], coordinates[2 * first + 1]);
  }
}
