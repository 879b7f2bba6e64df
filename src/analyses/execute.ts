import type { Sample } from '../domain/sample.js';
import { generatorName } from '../math/random.js';
import { Problem } from '../problems.js';
import type { Analysis, Answer, RunControl, Trial } from './contract.js';
import type { CheckedInputs } from './inputs.js';
import { powerOf } from './power.js';
import { overDraws, type Redraw } from './redraw.js';
import { softwareVersion } from './software.js';

/** An answer together with how it was made: enough to make it again. */
export interface RunAnswer extends Answer<Record<string, unknown>> {
  readonly provenance: Readonly<Record<string, unknown>>;
}

/**
 * Runs one analysis on a sample. Finds known by an area are redrawn `draws` times unless the analysis spreads them
 * itself, and all finds by their own error when that is asked for; the numbers are then the middle ones of all draws,
 * and `range_over_draws` holds their extremes.
 * @throws Problem whatever the analysis refuses; too-few-points when nothing was selected at all
 */
export function executeAnalysis(
  analysis: Analysis,
  sample: Sample,
  inputs: CheckedInputs,
  progress: (share: number, doing: string) => void,
): RunAnswer {
  const { seed, simulations, draws, position_error: error, power } = inputs.common;
  const tries = power ? powerTrial(analysis) : null;
  const control = (from: number, to: number): RunControl => ({
    seed,
    simulations,
    draws,
    // planting effects takes most of the time
    progress: (share, doing) => progress((from + (to - from) * share) * (tries ? 0.1 : 1), doing),
  });
  const redraw: Redraw = {
    spread: !analysis.spreadsItself && sample.areas.length > 0,
    shift: error === 'redraw' && !analysis.withoutEffect.includes('draws') && sample.sigmaXy.some(Number.isFinite),
  };
  const answer =
    redraw.spread || redraw.shift
      ? overDraws(analysis, sample, { inputs, redraw, control })
      : analysis.run(sample, inputs.own as never, control(0, 1));
  const seen = tries && powerOf(analysis, sample, { inputs, trial: tries, progress });
  const notes = [...filterNotes(inputs), ...sampleNotes(analysis, sample, { redraw, draws })];
  return {
    ...answer,
    summary: withoutNotANumber(seen ? { ...answer.summary, power: seen } : answer.summary) as Record<string, unknown>,
    cautions: [...answer.cautions, ...notes],
    provenance: provenanceOf(analysis, sample, inputs),
  };
}

/** A filter thins out finds, never ground: who asks for a season by it alone keeps the ground of all seasons. */
function filterNotes({ common }: CheckedInputs): string[] {
  if (common.filter === null) return [];
  const written = typeof common.filter === 'string' ? common.filter : JSON.stringify(common.filter);
  const seasons = common.season.length === 0 ? 'all seasons' : `season ${common.season.join(', ')}`;
  return [`Only finds that fit the filter ${written} are used; the excavated area stays that of ${seasons}.`];
}

/** What stands beside every number: how many finds were left out and why, how square-only finds were treated. */
function sampleNotes(
  analysis: Analysis,
  sample: Sample,
  { redraw, draws }: { redraw: Redraw; draws: number },
): string[] {
  const notes: string[] = [];
  const leftOut = sample.excluded.reduce((sum, e) => sum + e.count, 0);
  if (sample.selected > 0) {
    const share = ((100 * leftOut) / sample.selected).toFixed(1);
    const why = sample.excluded.map((e) => `${e.count} ${e.reason}`).join('; ');
    notes.push(
      `${leftOut} of ${sample.selected} finds (${share} %) do not stand as positions of their own${why ? `: ${why}` : ''}.`,
    );
  }
  if (redraw.shift) {
    notes.push(
      `Every find was shifted by its own standard deviation ${draws} times; the numbers are the middle ones, range_over_draws the extremes. Position error pulls ratios towards random.`,
    );
  }
  if (redraw.spread) {
    notes.push(
      `${sample.areas.length} finds known by an area were redrawn ${draws} times inside it; the numbers are the middle ones, range_over_draws the extremes. Spreading pulls ratios towards random, so the range need not hold the truth.`,
    );
  }
  if (
    analysis.squareOnly === 'exclude' &&
    sample.areas.length === 0 &&
    sample.excluded.some((e) => e.reason.startsWith('known by an area'))
  ) {
    notes.push('Finds known by square only are left out; ask for square_only = spread to see what they would change.');
  }
  return notes;
}

/** @throws Problem cannot-answer when the analysis leads with no test */
function powerTrial(analysis: Analysis): Trial {
  if (analysis.trial) return analysis.trial;
  throw new Problem(
    'cannot-answer',
    `${analysis.id} leads with no test whose power could be tried; leave the input power out`,
    { process: analysis.id },
  );
}

function provenanceOf(analysis: Analysis, sample: Sample, inputs: CheckedInputs): Record<string, unknown> {
  const leftOut = sample.excluded.reduce((sum, e) => sum + e.count, 0);
  const { keep: _keep, ...common } = inputs.common;
  return {
    process: analysis.id,
    process_version: analysis.version,
    software: `wreckfield ${softwareVersion}`,
    site: sample.site,
    data_version: sample.dataVersion,
    selected: sample.selected,
    n: sample.xy.length / 2 + sample.areas.length,
    left_out: {
      count: leftOut,
      share: sample.selected === 0 ? 0 : leftOut / sample.selected,
      reasons: sample.excluded,
    },
    window_area_m2: sample.windowAreaM2,
    window: sample.windowSource,
    parameters: { ...inputs.own, ...common },
    without_effect: [
      ...analysis.withoutEffect,
      ...(analysis.withoutEffect.includes('draws') ? ['position_error'] : []),
      // both choose finds
      ...(analysis.withoutEffect.includes('artefact_class') ? ['filter'] : []),
    ],
    seed: inputs.common.seed,
    generator: generatorName,
  };
}

/** A summary must fit JSON: unknown is null. A NaN that reaches this point is a mistake of ours, not of the data. */
function withoutNotANumber(value: unknown, path = 'summary'): unknown {
  if (typeof value === 'number' && !Number.isFinite(value))
    throw new Error(`${path} is ${value}: unknown must be null`);
  if (Array.isArray(value)) return value.map((v, i) => withoutNotANumber(v, `${path}[${i}]`));
  if (value !== null && typeof value === 'object') {
    return Object.fromEntries(Object.entries(value).map(([key, v]) => [key, withoutNotANumber(v, `${path}.${key}`)]));
  }
  return value;
}

/** An analysis by its id. @throws Problem no-such-process */
export function analysisOf(catalogue: readonly Analysis[], id: string): Analysis {
  const found = catalogue.find((analysis) => analysis.id === id);
  if (!found) {
    throw new Problem(
      'no-such-process',
      `there is no process "${id}"; the processes are ${catalogue.map((a) => a.id).join(', ')}`,
      { process: id },
    );
  }
  return found;
}
