import { pointsOf, type SurveyNetwork } from './network-reading.js';

/** A part of a network whose unknown points hang together: it can be adjusted by itself. */
export interface NetworkPart {
  /** numbers of its points in the whole network: unknown and fixed ones, in the order of the points */
  readonly points: readonly number[];
  /** numbers of its readings in the whole network, in their order */
  readonly readings: readonly number[];
  /** the part as a network of its own, points and readings numbered anew */
  readonly network: SurveyNetwork;
}

/** A point that cannot be placed, and why in words. */
export interface LoosePoint {
  readonly point: number;
  readonly reason: string;
}

/**
 * Leaves out points with fewer readings than coordinates, again and again, since each takes its readings with it.
 * @param used  [readings] 1 = take part; those of loose points are set to 0
 */
export function pruneLoose(network: SurveyNetwork, used: Uint8Array, loose: Map<number, string>): void {
  const counts = new Int32Array(network.fixed.length);
  for (;;) {
    counts.fill(0);
    network.readings.forEach((reading, i) => {
      if (used[i] === 1) for (const p of pointsOf(reading)) counts[p]++;
    });
    let found = false;
    for (let p = 0; p < counts.length; p++) {
      if (network.fixed[p] === 1 || loose.has(p) || counts[p] >= network.dimension) continue;
      loose.set(
        p,
        `${counts[p]} reading${counts[p] === 1 ? '' : 's'} to points that can be placed, ${network.dimension} are needed`,
      );
      dropReadings(network, used, p);
      found = true;
    }
    if (!found) return;
  }
}

/** Takes the readings of one point out of use. */
export function dropReadings(network: SurveyNetwork, used: Uint8Array, point: number): void {
  network.readings.forEach((reading, i) => {
    if (pointsOf(reading).includes(point)) used[i] = 0;
  });
}

/** The parts of a network that share no unknown point. Readings between fixed points alone make one part of their own. */
export function networkParts(network: SurveyNetwork, used: Uint8Array): NetworkPart[] {
  const root = Int32Array.from(network.fixed, (_, p) => p);
  const find = (p: number): number => {
    let at = p;
    while (root[at] !== at) at = root[at] = root[root[at]];
    return at;
  };
  network.readings.forEach((reading, i) => {
    if (used[i] === 0) return;
    const unknown = pointsOf(reading).filter((p) => network.fixed[p] === 0);
    for (const p of unknown) root[find(p)] = find(unknown[0]);
  });
  const groups = new Map<number, number[]>();
  network.readings.forEach((reading, i) => {
    if (used[i] === 0) return;
    const unknown = pointsOf(reading).find((p) => network.fixed[p] === 0);
    const key = unknown === undefined ? -1 : find(unknown);
    const group = groups.get(key);
    if (group) group.push(i);
    else groups.set(key, [i]);
  });
  return [...groups.values()].map((readings) => partOf(network, readings));
}

function partOf(network: SurveyNetwork, readings: readonly number[]): NetworkPart {
  const points = [...new Set(readings.flatMap((i) => pointsOf(network.readings[i])))].sort((a, b) => a - b);
  const own = new Map(points.map((p, k) => [p, k]));
  const numbered = (p: number) => (p < 0 ? -1 : (own.get(p) as number));
  return {
    points,
    readings,
    network: {
      dimension: network.dimension,
      fixed: Uint8Array.from(points, (p) => network.fixed[p]),
      readings: readings.map((i) => {
        const reading = network.readings[i];
        return {
          ...reading,
          from: numbered(reading.from),
          second: numbered(reading.second),
          point: numbered(reading.point),
        };
      }),
    },
  };
}
