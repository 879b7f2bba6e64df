import type { AreaPosition, PositionDetail, Sample } from '../domain/sample.js';
import { unknownDetail } from '../domain/sample-detail.js';
import { normalDeviate, type RandomStream, randomStream } from '../math/random.js';
import { insideEvenOdd, type Region } from '../math/rings.js';
import { type PointSampler, uniformPoints } from '../math/uniform-points.js';
import type { Analysis, Answer, RunControl } from './contract.js';
import type { CheckedInputs } from './inputs.js';

/** Stream numbers from here on are redraws of positions; simulations use the ones below. */
const firstDrawStream = 1_000_000_000;

/** after so many shifts out of the window a find stays where it was recorded */
const mostShifts = 64;

/** What is drawn anew: finds known by an area inside it, finds with a stated error about their place. */
export interface Redraw {
  readonly spread: boolean;
  readonly shift: boolean;
}

/** Runs an analysis on `draws` redrawn samples. → middle numbers, with their extremes in `range_over_draws` */
export function overDraws(
  analysis: Analysis,
  sample: Sample,
  asked: {
    readonly inputs: CheckedInputs;
    readonly redraw: Redraw;
    readonly control: (from: number, to: number) => RunControl;
  },
): Answer<Record<string, unknown>> {
  const { inputs, redraw, control } = asked;
  const { seed, draws } = inputs.common;
  const sources = redraw.spread ? sample.areas.map((area) => uniformPoints(area.region)) : [];
  const answers: Answer<Record<string, unknown>>[] = [];
  for (let draw = 0; draw < draws; draw++) {
    const random = randomStream(seed, firstDrawStream + draw);
    const spread = redraw.spread ? drawn(sample, sources, random) : sample;
    const placed = redraw.shift ? { ...spread, xy: shifted(spread, random) } : spread;
    answers.push(analysis.run(placed, inputs.own as never, control(draw / draws, (draw + 1) / draws)));
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

/** [2n] positions, each moved by its own error in both axes and kept inside the window. */
function shifted(
  { xy, sigmaXy, window }: { xy: Float64Array; sigmaXy: Float64Array; window: Region },
  random: RandomStream,
) {
  const out = xy.slice();
  sigmaXy.forEach((sigma, i) => {
    if (!(sigma > 0)) return;
    for (let k = 0; k < mostShifts; k++) {
      const x = xy[2 * i] + sigma * normalDeviate(random);
      const y = xy[2 * i + 1] + sigma * normalDeviate(random);
      if (!insideEvenOdd(window, x, y)) continue;
      out[2 * i] = x;
      out[2 * i + 1] = y;
      return;
    }
  });
  return out;
}
