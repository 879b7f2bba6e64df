import { makeSample, type SampleRequest } from '../../src/domain/make-sample.js';
import type { Sample } from '../../src/domain/sample.js';
import { type SmallRecords, smallSurvey } from './small-site.js';

/** A sample of a small invented site, square-only finds spread, the register brought along. */
export function smallSample(records: SmallRecords, asked: Partial<SampleRequest> = {}): Sample {
  return makeSample(smallSurvey(records), {
    seasons: [],
    classes: [],
    identifiedAsOf: null,
    within: null,
    countUnit: 'find',
    spot: 'find',
    squareOnly: 'spread',
    needsRegister: true,
    ...asked,
  });
}

/** A find known by its position. */
export const pointFind = (find: string, x: number, y: number, more: Record<string, string | number | null> = {}) => ({
  find,
  season: 'S1',
  artefact_class: 'jar',
  position_kind: 'point',
  local_x: x,
  local_y: y,
  ...more,
});
