import { expect, test } from 'vitest';
import { joinLayers } from '../../src/tiles/encode.js';
import { pointTiles } from '../../src/tiles/point-tiles.js';
import { seededFinds } from '../bench/seeded-finds.js';
import { lawfulTile } from './tile-laws.js';

const finds = seededFinds(20);
const world = { z: 0, x: 0, y: 0 };
const drawn = (layer: string) => ({
  layer,
  bytes: pointTiles({ ...finds, layer, properties: ['find'], thinBelowZoom: 0 }).tile(world),
});

test('a tile of several layers holds each as it was', () => {
  const joined = joinLayers([drawn('finds'), { layer: 'hull-lines', bytes: new Uint8Array(0) }, drawn('levels')]);
  expect(lawfulTile(joined).map(({ name, features }) => [name, features.length])).toEqual([
    ['finds', 20],
    ['levels', 20],
  ]);
  expect(joinLayers([]).length).toBe(0);
  expect(joinLayers([drawn('finds')])).toEqual(drawn('finds').bytes);
});

test('two layers of one name are a mistake of ours', () => {
  expect(() => joinLayers([drawn('finds'), drawn('finds')])).toThrow(/two layers named finds/);
});
