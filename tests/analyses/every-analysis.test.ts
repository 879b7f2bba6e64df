import { describe, expect, test } from 'vitest';
import { catalogue } from '../../src/analyses/catalogue.js';
import { type Analysis, commonInputs, type WorkedExample } from '../../src/analyses/contract.js';
import { describeProcess, inputFields } from '../../src/analyses/describe.js';
import { executeAnalysis } from '../../src/analyses/execute.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import type { Sample } from '../../src/domain/sample.js';
import { svgText } from '../../src/figures/svg.js';
import { answerFromParts, answerParts } from '../../src/operations/answer-parts.js';
import { readingsOf } from '../support/levelled-nodes.js';
import { gridOf, hullOf, plannedAreas, sampleOf, windowOf } from '../support/sample-of.js';
import { contentsOf, smallDig } from '../support/small-dig.js';

const quiet = () => {};

const exampleSample = (example: WorkedExample): Sample => {
  const classes = [...new Set(example.classes ?? [])];
  const seasons = [...new Set(example.seasons ?? [])];
  return sampleOf(example.xy, windowOf(example.window), {
    ...(example.hull ? { hull: hullOf(example.hull) } : {}),
    ...(example.grid ? { grid: gridOf(example.grid) } : {}),
    ...(example.planned ? { undug: plannedAreas(example.planned) } : {}),
    ...(example.levels ? { levels: readingsOf(example.levels) } : {}),
    ...(example.readings ? { readings: example.readings } : {}),
    ...(example.z ? { z: Float64Array.from(example.z) } : {}),
    ...(example.seasons
      ? { seasons, seasonCode: Uint32Array.from(example.seasons, (name) => seasons.indexOf(name) + 1) }
      : {}),
    ...(example.joins ? { joins: example.joins.map(([a, b]) => ({ a, b, kind: 'physical join' })) } : {}),
    ...(example.classes
      ? { classes, classCode: Uint32Array.from(example.classes, (name) => classes.indexOf(name) + 1) }
      : {}),
  });
};

const exampleInputs = (analysis: Analysis, example: WorkedExample) =>
  checkInputs(analysis, { ...example.parameters, simulations: example.simulations ?? 0 });

const at = (value: unknown, path: string): unknown =>
  path.split('.').reduce((inner, key) => (inner as Record<string, unknown> | undefined)?.[key], value);

/** the small dig on a site grid, two squares of its hole planned */
const griddedDig = (): Sample => ({
  ...smallDig(),
  grid: gridOf({ columns: 12, rows: 8 }),
  undug: plannedAreas([
    [
      [3, 2],
      [5, 2],
      [5, 3],
      [3, 3],
    ],
  ]),
});

describe.each(catalogue.map((analysis) => [analysis.id, analysis] as const))('%s', (_, analysis) => {
  const dig = analysis.needsGrid ? griddedDig : smallDig;

  test('has at least one worked example, and every one comes out within its tolerance', () => {
    expect(analysis.worked.length).toBeGreaterThan(0);
    for (const example of analysis.worked) {
      const { summary } = executeAnalysis(analysis, exampleSample(example), exampleInputs(analysis, example), quiet);
      for (const [path, expected] of Object.entries(example.expected)) {
        const value = at(summary, path);
        expect(typeof value, `${path} of ${example.source}`).toBe('number');
        const gap = Math.abs((value as number) - expected);
        expect(gap, `${path} = ${value}, ${example.source} says ${expected}`).toBeLessThanOrEqual(
          example.tolerance * Math.max(Math.abs(expected), 1e-12),
        );
      }
    }
  });

  test('equal requests give equal bytes', () => {
    const run = (seed: number) =>
      answerParts(
        executeAnalysis(
          analysis,
          dig(),
          checkInputs(analysis, { seed, simulations: 19, square_only: 'spread', draws: 3 }),
          quiet,
        ),
      );
    const once = run(5);
    const again = run(5);
    expect([...again.keys()]).toEqual([...once.keys()]);
    for (const [name, bytes] of once)
      expect(Buffer.compare(Buffer.from(bytes), Buffer.from(again.get(name) as Uint8Array)), name).toBe(0);
  });

  test('leaves the sample as it was', () => {
    const sample = dig();
    const before = contentsOf(sample);
    executeAnalysis(analysis, sample, checkInputs(analysis, { simulations: 9 }), quiet);
    expect(contentsOf(sample)).toBe(before);
  });

  test('the numbers fit the published schema, square-only finds spread or not', () => {
    for (const square_only of ['exclude', 'spread']) {
      const sample = square_only === 'spread' ? dig() : { ...dig(), areas: [] };
      const { summary } = executeAnalysis(
        analysis,
        sample,
        checkInputs(analysis, { simulations: 9, square_only, draws: 2 }),
        quiet,
      );
      const { range_over_draws: _range, ...numbers } = summary;
      const result = analysis.result.safeParse(numbers);
      expect(result.success, result.success ? '' : JSON.stringify(result.error.issues)).toBe(true);
    }
  });

  test('no input of its own hides a common one', () => {
    const common = Object.keys(commonInputs.shape);
    expect(Object.keys(analysis.parameters.shape).filter((name) => common.includes(name))).toEqual([]);
  });

  test('an unknown input is refused with the known ones; a wrong value names its place', () => {
    expect(() => checkInputs(analysis, { bandwith: 1 })).toThrow(/has no input "bandwith"; its inputs are/);
    expect(() => checkInputs(analysis, { seed: -1 })).toThrow(/input seed/);
    expect(() => checkInputs(analysis, { simulations: 1e9 })).toThrow(/input simulations/);
    expect(() => checkInputs(analysis, { spot: 'square' })).toThrow(/input spot/);
  });

  test('moved by whole metres, as far as map coordinates reach, the site gives the same numbers', () => {
    if (!analysis.laws.movedAndTurned) return;
    const run = (sample: Sample) =>
      executeAnalysis(analysis, { ...sample, areas: [] }, checkInputs(analysis, { simulations: 9 }), quiet).summary;
    const here = run(smallDig());
    const there = run(smallDig({ x: 4_500_000, y: 6_500_000 }));
    const compare = (a: unknown, b: unknown, path: string): void => {
      if (typeof a === 'number') {
        // a place moves with the site; everything else stays
        if (/_x_m$|_y_m$/.test(path)) return;
        expect(Math.abs((b as number) - a), path).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(a)));
      } else if (a !== null && typeof a === 'object') {
        for (const key of Object.keys(a))
          compare((a as Record<string, unknown>)[key], (b as Record<string, unknown>)[key], `${path}.${key}`);
      } else expect(b, path).toEqual(a);
    };
    compare(here, there, 'summary');
  });

  test('draws its figure, names its sources and the window in its methods, and says what was left out', () => {
    const answer = executeAnalysis(analysis, dig(), checkInputs(analysis, { simulations: 19 }), quiet);
    const svg = svgText(answer.figure);
    expect(svg).toMatch(/^<\?xml|^<svg/);
    expect(svg).not.toMatch(/NaN|undefined|Infinity/);
    expect(answer.methods).toMatch(/\d{4}/);
    expect(answer.methods).toContain('m²');
    expect(answer.cautions.join(' ')).toContain('2 of 43 finds');
    expect(answer.provenance).toMatchObject({ process: analysis.id, selected: 43, window_area_m2: 79, seed: 1790 });
    for (const row of answer.table.rows) expect(row).toHaveLength(answer.table.columns.length);
  });

  test('an answer that was kept reads back the same', () => {
    const answer = executeAnalysis(analysis, dig(), checkInputs(analysis, { simulations: 9 }), quiet);
    const kept = answerFromParts(answerParts(answer));
    expect(kept.summary).toEqual(answer.summary);
    expect(kept.features?.length ?? null).toEqual(answer.features?.length ?? null);
    expect(kept.coverage?.values ?? null).toEqual(answer.coverage?.values ?? null);
    // a mesh is made only where the input of that name asks for it
    const declared = Object.keys(analysis.layers)
      .filter((name) => name !== 'mesh')
      .sort();
    expect([answer.coverage ? 'coverage' : '', answer.features ? 'features' : ''].filter(Boolean)).toEqual(declared);
  });

  test('is described for machines and people from one place', () => {
    const described = describeProcess(analysis);
    for (const field of inputFields(analysis)) {
      expect(field.title.length, field.name).toBeGreaterThan(2);
      expect(described.inputs[field.name].title).toBe(field.title);
    }
    expect(analysis.sources.length).toBeGreaterThan(0);
    expect(analysis.cautions.length).toBeGreaterThan(0);
    expect(analysis.formula.length).toBeGreaterThan(40);
  });

  test('no finds at all: numbers that exist, or a refusal with a sentence', () => {
    const empty = sampleOf([], dig().window, { hull: dig().hull, shipAxis: dig().shipAxis });
    let outcome: unknown;
    try {
      outcome = executeAnalysis(analysis, empty, checkInputs(analysis, { simulations: 9 }), quiet).summary;
    } catch (error) {
      outcome = error;
    }
    if (outcome instanceof Error) expect(outcome).toMatchObject({ name: 'Problem' });
    else expect(outcome).toMatchObject({ n: 0 });
  });
});
