import type { WorkedExample } from '../../src/analyses/contract.js';
import type { Sample } from '../../src/domain/sample.js';
import { readingsOf } from './levelled-nodes.js';
import { hullOf, sampleOf, windowOf } from './sample-of.js';

/** The sample a worked example describes. */
export function exampleSample(example: WorkedExample): Sample {
  const classes = [...new Set(example.classes ?? [])];
  return sampleOf(example.xy, windowOf(example.window), {
    ...(example.hull ? { hull: hullOf(example.hull) } : {}),
    ...(example.levels ? { levels: readingsOf(example.levels) } : {}),
    ...(example.readings ? { readings: example.readings } : {}),
    ...(example.z ? { z: Float64Array.from(example.z) } : {}),
    ...(example.classes
      ? { classes, classCode: Uint32Array.from(example.classes, (name) => classes.indexOf(name) + 1) }
      : {}),
    ...(example.joins ? { joins: example.joins.map(([a, b]) => ({ a, b, kind: 'physical_join' })) } : {}),
  });
}
