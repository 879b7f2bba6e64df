import { type PbfReader, PbfReader as Reader } from 'pbf';

export interface DecodedFeature {
  readonly id: number;
  readonly type: number;
  readonly properties: Record<string, string | number | boolean>;
  /** parts of [x, y] corners as written: rings not closed */
  readonly parts: [number, number][][];
}

export interface DecodedLayer {
  readonly name: string;
  readonly features: DecodedFeature[];
}

interface RawLayer {
  name: string;
  version: number;
  extent: number;
  keys: string[];
  values: (string | number | boolean)[];
  features: { id: number[]; tags: number[]; type: number; geometry: number[] }[];
}

function readValue(tag: number, out: { value: string | number | boolean | null }, pbf: PbfReader): void {
  if (tag === 1) out.value = pbf.readString();
  else if (tag === 2) out.value = pbf.readFloat();
  else if (tag === 3) out.value = pbf.readDouble();
  else if (tag === 4) out.value = pbf.readVarint(true);
  else if (tag === 5) out.value = pbf.readVarint();
  else if (tag === 6) out.value = pbf.readSVarint();
  else if (tag === 7) out.value = pbf.readBoolean();
}

function readLayer(tag: number, layer: RawLayer, pbf: PbfReader): void {
  if (tag === 15) layer.version = pbf.readVarint();
  else if (tag === 1) layer.name = pbf.readString();
  else if (tag === 5) layer.extent = pbf.readVarint();
  else if (tag === 3) layer.keys.push(pbf.readString());
  else if (tag === 4) {
    const { value } = pbf.readMessage(readValue, { value: null as string | number | boolean | null });
    if (value === null) throw new Error('a value without content');
    layer.values.push(value);
  } else if (tag === 2) {
    layer.features.push(
      pbf.readMessage(
        (field, feature, p) => {
          if (field === 1) feature.id.push(p.readVarint());
          else if (field === 2) p.readPackedVarint(feature.tags);
          else if (field === 3) feature.type = p.readVarint();
          else if (field === 4) p.readPackedVarint(feature.geometry);
        },
        { id: [] as number[], tags: [] as number[], type: 0, geometry: [] as number[] },
      ),
    );
  }
}

/** A plain check: a test framework's own would cost more than the tile, a million times over. */
function law(holds: boolean, words: string): void {
  if (!holds) throw new Error(`a law of the tile format is broken: ${words}`);
}

const zigzag = (n: number) => (n % 2 === 1 ? -(n + 1) / 2 : n / 2);

/** Follows the drawing commands as the specification words them, and refuses what it forbids. */
function readParts(type: number, geometry: readonly number[]): [number, number][][] {
  const parts: [number, number][][] = [];
  let [x, y, at] = [0, 0, 0];
  const command = () => ({ id: geometry[at] & 7, count: geometry[at++] >> 3 });
  const move = (): [number, number] => {
    const [dx, dy] = [zigzag(geometry[at++]), zigzag(geometry[at++])];
    x += dx;
    y += dy;
    return [dx, dy];
  };
  while (at < geometry.length) {
    const start = command();
    law(start.id === 1 && start.count === 1, 'a part begins with one MoveTo');
    move();
    const part: [number, number][] = [[x, y]];
    if (type > 1) {
      const line = command();
      law(line.id === 2 && line.count >= type - 1, 'MoveTo is followed by enough LineTo');
      for (let k = 0; k < line.count; k++) {
        const [dx, dy] = move();
        law(dx !== 0 || dy !== 0, 'LineTo goes somewhere');
        part.push([x, y]);
      }
    }
    if (type === 3) {
      const end = command();
      law(end.id === 7 && end.count === 1, 'a ring ends with ClosePath');
      law(part[0][0] !== x || part[0][1] !== y, 'a ring does not repeat its first corner');
    }
    parts.push(part);
  }
  law(at === geometry.length, 'the commands end with the geometry');
  return parts;
}

/** The surveyor's formula as the specification gives it, on tile units with y to the south. */
export function surveyorsArea(ring: readonly (readonly [number, number])[]): number {
  return (
    ring.reduce((sum, [x, y], k) => {
      const [nx, ny] = ring[(k + 1) % ring.length];
      return sum + x * ny - nx * y;
    }, 0) / 2
  );
}

/** Decodes a tile and checks every law of the Mapbox Vector Tile Specification 2.1 that can be read off the bytes. */
export function lawfulTile(bytes: Uint8Array): DecodedLayer[] {
  const raw = new Reader(bytes).readFields((tag, layers, pbf) => {
    if (tag !== 3) throw new Error(`a tile holds layers, not field ${tag}`);
    layers.push(pbf.readMessage(readLayer, { name: '', version: 1, extent: 4096, keys: [], values: [], features: [] }));
  }, [] as RawLayer[]);
  law(new Set(raw.map((layer) => layer.name)).size === raw.length, 'layer names are unique');
  return raw.map((layer) => {
    law(layer.version === 2, 'version 2');
    law(layer.extent === 4096, 'extent 4096');
    law(layer.name !== '', 'a layer has a name');
    law(layer.features.length > 0, 'no empty layers');
    law(new Set(layer.keys).size === layer.keys.length, 'keys are unique');
    law(new Set(layer.values.map((v) => `${typeof v}${v}`)).size === layer.values.length, 'values are unique');
    const ids = layer.features.map((feature) => {
      law(feature.id.length === 1, 'one id');
      return feature.id[0];
    });
    law(new Set(ids).size === ids.length, 'ids are unique in a layer');
    for (const id of ids) law(Number.isSafeInteger(id) && id >= 0, 'ids are whole numbers');
    const features = layer.features.map(({ id, tags, type, geometry }) => {
      law(tags.length % 2 === 0, 'tags come in pairs');
      const properties: DecodedFeature['properties'] = Object.create(null);
      for (let k = 0; k < tags.length; k += 2) {
        law(tags[k] < layer.keys.length && tags[k + 1] < layer.values.length, 'tags point into the lists');
        law(!(layer.keys[tags[k]] in properties), 'no key twice in a feature');
        properties[layer.keys[tags[k]]] = layer.values[tags[k + 1]];
      }
      const parts = readParts(type, geometry);
      law(parts.length > 0, 'a feature has a geometry');
      law(type !== 1 || parts.length === 1, 'one point');
      if (type === 3) {
        law(surveyorsArea(parts[0]) > 0, 'an area begins with an outer ring');
        for (const part of parts) law(surveyorsArea(part) !== 0, 'a ring has an area');
      }
      return { id: id[0], type, properties, parts };
    });
    return { name: layer.name, features };
  });
}
