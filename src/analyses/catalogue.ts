// Made by `npm run generate` from the folders beside this file; do not edit.
import type { Analysis } from './contract.js';
import hullScatter from './hull-scatter/index.js';
import kernelDensity from './kernel-density/index.js';
import nearestNeighbour from './nearest-neighbour/index.js';

/** Every analysis of the service, by name. */
export const catalogue: readonly Analysis[] = [
  hullScatter,
  kernelDensity,
  nearestNeighbour,
] as unknown as readonly Analysis[];
