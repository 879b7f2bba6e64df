import type { ClassName } from './class-list.js';
import type { Point } from './grids.js';
import type { Spot } from './ground.js';

/** A find as it lay: what it is and where, before anybody recorded it. */
export interface PlantedFind extends Spot {
  readonly className: ClassName;
  /** relative depth in the deposit: 0 top, 1 bottom */
  readonly relativeDepth: number;
  readonly weightG: number;
  readonly count: number;
  readonly countQualifier: 'exact' | 'about' | 'at_least';
  readonly potVessel?: string;
  /** key of the concretion: the first find with it is the concretion's own entry, the others its children */
  readonly concretion?: { readonly key: number; readonly child: boolean };
  /** other end and direction of a long object */
  readonly long?: { readonly end: Point; readonly orientationDeg: number };
}
