import { meshOfFrame, meshOfTriangles } from '../../math/cell-mesh.js';
import { inverseDistanceLeftOut, inverseDistanceSurface } from '../../math/inverse-distance.js';
import { ordinaryKriging } from '../../math/kriging.js';
import type { SurfaceNodes } from '../../math/level-nodes.js';
import { bilinearGround, type LevelledGround, type ReadableSurface } from '../../math/levelled-ground.js';
import { triangleMesh } from '../../math/triangle-mesh.js';
import { triangleSurface } from '../../math/triangle-surface.js';
import {
  empiricalVariogram,
  fitVariogram,
  type VariogramBin,
  type VariogramKind,
  type VariogramModel,
} from '../../math/variogram.js';
import { Problem } from '../../problems.js';

/** A way to get from nodes to ground, with its choices. */
export interface MethodChoice {
  readonly method: 'bilinear' | 'tin' | 'inverse-distance' | 'ordinary-kriging';
  readonly missingCorner: 'none' | 'triangle';
  readonly model: VariogramKind;
  readonly nugget: number | null;
  readonly sill: number | null;
  readonly range: number | null;
  readonly lagM: number | null;
  readonly cutoffM: number | null;
  readonly power: number;
  readonly neighbours: number | null;
}

/** A variogram as it was used. */
interface UsedVariogram {
  readonly model: VariogramModel;
  readonly bins: readonly VariogramBin[];
  readonly misfit: number;
  readonly fitted: readonly ('nugget' | 'sill' | 'range')[];
  readonly rangeAtBoundary: boolean;
}

/** A surface that can be read, drawn and doubted. */
export interface FittedSurface extends ReadableSurface {
  readonly variogram: UsedVariogram | null;
  /** [n] level less what the others predict, and its variance (NaN = the method has none); null = not asked of the method */
  readonly leftOut: { readonly error: Float64Array; readonly variance: Float64Array } | null;
}

/**
 * Makes a surface of nodes by the method chosen.
 * @throws Problem cannot-answer when the nodes do not carry the method; whatever kriging and variogram refuse
 */
export function fitSurface(nodes: SurfaceNodes, ground: LevelledGround, choice: MethodChoice): FittedSurface {
  switch (choice.method) {
    case 'bilinear':
      return bilinear(nodes, ground, choice);
    case 'tin':
      return triangles(nodes);
    case 'inverse-distance': {
      const rule = { power: choice.power, neighbours: choice.neighbours };
      return {
        read: inverseDistanceSurface(nodes, rule),
        mesh: meshOfFrame,
        variogram: null,
        leftOut:
          nodes.x.length > 1
            ? { error: errors(nodes, inverseDistanceLeftOut(nodes, rule)), variance: nodes.z.map(() => Number.NaN) }
            : null,
        workPerPlace: 10 * nodes.x.length,
      };
    }
    case 'ordinary-kriging':
      return kriging(nodes, choice);
  }
}

function errors({ z }: SurfaceNodes, predicted: Float64Array): Float64Array {
  return z.map((v, i) => v - predicted[i]);
}

function bilinear(nodes: SurfaceNodes, ground: LevelledGround, { missingCorner }: MethodChoice): FittedSurface {
  if (ground.squaresFour + ground.squaresThree === 0) {
    throw new Problem(
      'cannot-answer',
      `bilinear needs levels on the nodes of a square grid, at least three of one square; the ${nodes.x.length} levels here make none: use the method tin, inverse-distance or ordinary-kriging`,
      { n: nodes.x.length },
    );
  }
  return { ...bilinearGround(nodes, ground, missingCorner), variogram: null, leftOut: null };
}

function triangles(nodes: SurfaceNodes): FittedSurface {
  const mesh = triangleMesh(nodes.x, nodes.y);
  if (mesh.corners.length === 0) {
    throw new Problem(
      'cannot-answer',
      `tin needs three levels that do not lie on one line; there ${nodes.x.length === 1 ? 'is 1' : `are ${nodes.x.length}`}: use inverse-distance or ordinary-kriging`,
      { n: nodes.x.length },
    );
  }
  return {
    read: triangleSurface(mesh, nodes),
    mesh: () => meshOfTriangles(mesh, nodes),
    variogram: null,
    leftOut: null,
    workPerPlace: 100,
  };
}

function kriging(nodes: SurfaceNodes, choice: MethodChoice): FittedSurface {
  const n = nodes.x.length;
  const xy = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) {
    xy[2 * i] = nodes.x[i] - nodes.x[0];
    xy[2 * i + 1] = nodes.y[i] - nodes.y[0];
  }
  const { model: kind, nugget, sill, range } = choice;
  const cutoffM = choice.cutoffM ?? diagonal(xy) / 3;
  const lagM = choice.lagM ?? cutoffM / 15;
  if (cutoffM / lagM > 10_000) {
    throw new Problem(
      'bad-parameter',
      `lag_m ${lagM} cuts the ${cutoffM} m of the variogram into more than 10,000 classes; give a larger lag_m`,
      { lagM, cutoffM },
    );
  }
  const bins = cutoffM > 0 ? empiricalVariogram(xy, nodes.z, { lagM, cutoffM }) : [];
  const fit = fitVariogram(bins, { kind, nugget, sill, range });
  const solved = ordinaryKriging(nodes, fit.model);
  return {
    read: (places, progress) => solved.predict(places, progress),
    mesh: meshOfFrame,
    variogram: {
      model: fit.model,
      bins,
      misfit: fit.misfit,
      fitted: (['nugget', 'sill', 'range'] as const).filter((name) => choice[name] === null),
      rangeAtBoundary: fit.rangeAtBoundary,
    },
    leftOut: n > 1 ? solved.leaveOneOut() : null,
    workPerPlace: (n * n) / 2,
  };
}

function diagonal(xy: Float64Array): number {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (let i = 0; i < xy.length; i += 2) {
    west = Math.min(west, xy[i]);
    east = Math.max(east, xy[i]);
    south = Math.min(south, xy[i + 1]);
    north = Math.max(north, xy[i + 1]);
  }
  return Math.hypot(east - west, north - south);
}
