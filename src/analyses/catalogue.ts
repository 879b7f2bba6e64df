// Made by `npm run generate` from the folders beside this file; do not edit.
import type { Analysis } from './contract.js';
import depositSurface from './deposit-surface/index.js';
import depositVolume from './deposit-volume/index.js';
import distanceFunctions from './distance-functions/index.js';
import hullScatter from './hull-scatter/index.js';
import kernelDensity from './kernel-density/index.js';
import nearestNeighbour from './nearest-neighbour/index.js';
import quadratCounts from './quadrat-counts/index.js';
import section from './section/index.js';
import trendSurface from './trend-surface/index.js';

/** Every analysis of the service, by name. */
export const catalogue: readonly Analysis[] = [
  depositSurface,
  depositVolume,
  distanceFunctions,
  hullScatter,
  kernelDensity,
  nearestNeighbour,
  quadratCounts,
  section,
  trendSurface,
] as unknown as readonly Analysis[];
