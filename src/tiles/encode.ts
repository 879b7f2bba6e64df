/**
 * One tile of several layers: the layers one after the other, which is what the format makes of a tile.
 * @param layers  each layer's name and bytes, as a TileSource gives them; empty ones are left out
 */
export function joinLayers(layers: readonly { readonly layer: string; readonly bytes: Uint8Array }[]): Uint8Array {
  const names = new Set<string>();
  for (const { layer } of layers) {
    if (names.has(layer)) throw new Error(`two layers named ${layer} in one tile`);
    names.add(layer);
  }
  const filled = layers.filter(({ bytes }) => bytes.length > 0);
  return filled.length === 1 ? filled[0].bytes : Buffer.concat(filled.map(({ bytes }) => bytes));
}
