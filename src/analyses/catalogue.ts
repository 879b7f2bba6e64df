// Made by `npm run generate` from the folders beside this file; do not edit.
import classAssociation from './class-association/index.js';
import classTable from './class-table/index.js';
import clusters from './clusters/index.js';
import type { Analysis } from './contract.js';
import densityRatio from './density-ratio/index.js';
import depositSurface from './deposit-surface/index.js';
import depositVolume from './deposit-volume/index.js';
import directionalDistribution from './directional-distribution/index.js';
import distanceFunctions from './distance-functions/index.js';
import gridFit from './grid-fit/index.js';
import hullScatter from './hull-scatter/index.js';
import kernelDensity from './kernel-density/index.js';
import localAutocorrelation from './local-autocorrelation/index.js';
import nearestNeighbour from './nearest-neighbour/index.js';
import nextSquares from './next-squares/index.js';
import quadratCounts from './quadrat-counts/index.js';
import refitDistances from './refit-distances/index.js';
import registerCheck from './register-check/index.js';
import seasonComparison from './season-comparison/index.js';
import section from './section/index.js';
import surfaceChange from './surface-change/index.js';
import surveyAdjustment from './survey-adjustment/index.js';
import trendSurface from './trend-surface/index.js';
import verticalDistribution from './vertical-distribution/index.js';

/** Every analysis of the service, by name. */
export const catalogue: readonly Analysis[] = [
  classAssociation,
  classTable,
  clusters,
  densityRatio,
  depositSurface,
  depositVolume,
  directionalDistribution,
  distanceFunctions,
  gridFit,
  hullScatter,
  kernelDensity,
  localAutocorrelation,
  nearestNeighbour,
  nextSquares,
  quadratCounts,
  refitDistances,
  registerCheck,
  seasonComparison,
  section,
  surfaceChange,
  surveyAdjustment,
  trendSurface,
  verticalDistribution,
] as unknown as readonly Analysis[];
