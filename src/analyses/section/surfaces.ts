import { findLattices, latticeOfGrid } from '../../math/lattice.js';
import { bilinearSurface, type CornerRule } from '../../math/lattice-surface.js';
import { type LevelColumns, surfaceNodes } from '../../math/level-nodes.js';
import { profileArea, type Station } from '../../math/profile.js';

/** A surface read along a section, all arrays [stations]. */
export interface SurfaceProfile {
  readonly surface: string;
  /** NaN = not known there */
  readonly elevation: Float64Array;
  /** random standard deviation carried over from the nodes; NaN = not known */
  readonly sigma: Float64Array;
  readonly knownM: number;
}

/** How nodes become ground. */
export interface ProfileRule {
  readonly seasons: readonly string[];
  readonly nodeValue: 'newest' | 'mean';
  readonly missingCorner: CornerRule;
  /** node spacing of the site grid; null = read from the levels */
  readonly spacingM: number | null;
}

/** Surfaces in the order of the ground, from above; others after them by name. */
const groundOrder = ['seabed_before', 'deposit_top', 'excavation_limit', 'deposit_bottom', 'hard_substrate'];

/**
 * Every levelled surface along a section: bilinear between the four nodes of each square, unknown where a node is
 * missing or beyond the nodes.
 */
export function surfaceProfiles(
  levels: LevelColumns,
  stations: readonly Station[],
  rule: ProfileRule,
): SurfaceProfile[] {
  const kept = new Set(levels.surface.filter((_, i) => levels.state[i] !== 'set_aside'));
  const rank = (name: string) => (groundOrder.includes(name) ? groundOrder.indexOf(name) : groundOrder.length);
  const names = [...kept].filter((name) => name !== '').sort((a, b) => rank(a) - rank(b) || (a < b ? -1 : 1));
  const xy = Float64Array.from(stations.flatMap(({ x, y }) => [x, y]));
  return names.map((surface) => {
    const nodes = surfaceNodes(levels, { surface, nodeValue: rule.nodeValue, seasons: rule.seasons });
    const all = Array.from(nodes.x.keys());
    const own = rule.spacingM === null ? { lattice: null, beside: all } : latticeOfGrid(nodes, rule.spacingM);
    const lattices = [...(own.lattice ? [own.lattice] : []), ...findLattices(nodes, own.beside).lattices];
    const { value, sigma } = bilinearSurface(lattices, nodes, rule.missingCorner)(xy);
    return { surface, elevation: value, sigma, knownM: profileArea(stations, value).knownM };
  });
}

/** Thickness along the section, top less bottom where both are known. */
export function thicknessAlong(profiles: readonly SurfaceProfile[], count: number): Float64Array {
  const of = (surface: string) => profiles.find((p) => p.surface === surface)?.elevation;
  const top = of('deposit_top') ?? of('top');
  const bottom = of('deposit_bottom') ?? of('bottom');
  return Float64Array.from({ length: count }, (_, i) => (top?.[i] ?? Number.NaN) - (bottom?.[i] ?? Number.NaN));
}
