import type { AreaPosition, PositionDetail, Sample } from '../domain/sample.js';
import { unknownDetail } from '../domain/sample-detail.js';
import { generatorName, type RandomStream, randomStream } from '../math/random.js';
import { type PointSampler, uniformPoints } from '../math/uniform-points.js';
import { Problem } from '../problems.js';
import type { Analysis, Answer, RunControl } from './contract.js';
import type { CheckedInputs } from './inputs.js';
import { softwareVersion } from './software.js';

/** An answer together with how it was made: enough to make it again. */
export interface RunAnswer extends Answer<Record<string, unknown>> {
  readonly provenance: Readonly<Record<string, unknown>>;
}

/** Stream numbers from here on are redraws of square-only positions; simulations use the ones below. */
const firstDrawStream = 1_000_000_000;

/**
 * Runs one analysis on a sample. Finds known by an area are redrawn `draws` times unless the analysis spreads them
 * itself; the numbers are then the middle ones of all draws, and `range_over_draws` holds their extremes.
 * @throws Problem whatever the analysis refuses; too-few-points when nothing was selected at all
 */
export function executeAnalysis(
  analysis: Analysis,
  sample: Sample,
  inputs: CheckedInputs,
  progress: (share: number, doing: string) => void,
): RunAnswer {
  const { seed, simulations, draws } = inputs.common;
  const control = (from: number, to: number): RunControl => ({
    seed,
    simulations,
    draws,
    progress: (share, doing) => progress(from + (to - from) * share, doing),
  });
  const redraw = !analysis.spreadsItself && sample.areas.length > 0;
  const answer = redraw
    ? overDraws(analysis, sample, inputs, control)
    : analysis.run(sample, inputs.own as never, control(0, 1));
  const notes = sampleNotes(analysis, sample, { redraw, draws });
  return {
    ...answer,
    summary: withoutNotANumber(answer.summary) as Record<string, unknown>,
    cautions: [...answer.cautions, ...notes],
    provenance: provenanceOf(analysis, sample, inputs),
  };
}

function overDraws(
  analysis: Analysis,
  sample: Sample,
  inputs: CheckedInputs,
  control: (from: number, to: number) => RunControl,
): Answer<Record<string, unknown>> {
  const { seed, draws } = inputs.common;
  const sources = sample.areas.map((area) => uniformPoints(area.region));
  const answers: Answer<Record<string, unknown>>[] = [];
  for (let draw = 0; draw < draws; draw++) {
    const random = randomStream(seed, firstDrawStream + draw);
    answers.push(
      analysis.run(drawn(sample, sources, random), inputs.own as never, control(draw / draws, (draw + 1) / draws)),
    );
  }
  const summaries = answers.map((a) => a.summary);
  return {
    ...answers[0],
    summary: {
      ...(acrossDraws(summaries, (values) => values[(values.length - 1) >> 1]) as Record<string, unknown>),
      range_over_draws: acrossDraws(summaries, (values) => ({ low: values[0], high: values[values.length - 1] })),
    },
  };
}

/** The same sample with one position drawn inside each area. */
function drawn(sample: Sample, sources: readonly PointSampler[], random: RandomStream): Sample {
  const n = sample.xy.length / 2;
  const m = sample.areas.length;
  const more = <T extends Float64Array | Uint32Array>(own: T, of: (area: AreaPosition) => number): T => {
    const out = new (own.constructor as new (length: number) => T)(n + m);
    out.set(own);
    sample.areas.forEach((area, i) => {
      out[n + i] = of(area);
    });
    return out;
  };
  const xy = new Float64Array(2 * (n + m));
  xy.set(sample.xy);
  sources.forEach((source, i) => {
    source(xy.subarray(2 * (n + i), 2 * (n + i) + 2), random);
  });
  return {
    ...sample,
    xy,
    weight: more(sample.weight, (area) => area.weight),
    classCode: more(sample.classCode, (area) => area.classCode),
    seasonCode: more(sample.seasonCode, (area) => area.seasonCode),
    z: more(sample.z, () => Number.NaN),
    sigmaXy: more(sample.sigmaXy, () => Number.NaN),
    label: [...sample.label, ...sample.areas.map((area) => area.label)],
    detail: drawnDetail(sample.detail, m),
    areas: [],
  };
}

/** A drawn position brings no detail of its own but its place in the list. */
function drawnDetail(detail: PositionDetail, more: number): PositionDetail {
  const added = unknownDetail(more);
  return Object.fromEntries(
    Object.entries(detail).map(([name, own]) => {
      const extra = added[name as keyof PositionDetail] as ArrayLike<unknown>;
      if (Array.isArray(own)) return [name, [...own, ...Array.from(extra)]];
      const out = new (own.constructor as new (length: number) => Float64Array | Uint8Array)(own.length + more);
      out.set(own as Float64Array);
      out.set(extra as Float64Array, own.length);
      return [name, out];
    }),
  ) as unknown as PositionDetail;
}

/** Numbers at the same place of several summaries, sorted, put through `choose`; everything else as in the first. */
function acrossDraws(values: readonly unknown[], choose: (sorted: number[]) => unknown): unknown {
  const [first] = values;
  if (typeof first === 'number') {
    const numbers = values
      .filter((v): v is number => typeof v === 'number' && Number.isFinite(v))
      .sort((a, b) => a - b);
    return numbers.length === 0 ? null : choose(numbers);
  }
  if (Array.isArray(first)) {
    return first.map((_, i) =>
      acrossDraws(
        values.map((v) => (v as unknown[])?.[i]),
        choose,
      ),
    );
  }
  if (first !== null && typeof first === 'object') {
    return Object.fromEntries(
      Object.keys(first).map((key) => [
        key,
        acrossDraws(
          values.map((v) => (v as Record<string, unknown> | null)?.[key]),
          choose,
        ),
      ]),
    );
  }
  return first;
}

/** What stands beside every number: how many finds were left out and why, how square-only finds were treated. */
function sampleNotes(
  analysis: Analysis,
  sample: Sample,
  { redraw, draws }: { redraw: boolean; draws: number },
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
  if (redraw) {
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
    without_effect: analysis.withoutEffect,
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
