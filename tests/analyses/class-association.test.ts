import { describe, expect, test } from 'vitest';
import analysis from '../../src/analyses/class-association/index.js';
import type { Summary } from '../../src/analyses/class-association/schemas.js';
import type { Sample } from '../../src/domain/sample.js';
import { unknownDetail } from '../../src/domain/sample-detail.js';
import { randomStream } from '../../src/math/random.js';
import { trench } from '../support/local-pattern.js';
import { near } from '../support/near.js';
import { classed, scatterIn } from '../support/scattered-finds.js';
import { pointFind, smallSample } from '../support/small-samples.js';
import { box } from '../support/small-site.js';

const answer = (sample: Sample, own: Record<string, unknown> = {}, simulations = 199) =>
  analysis.run(sample, analysis.parameters.parse(own), { seed: 3, simulations, draws: 5, progress: () => {} });
const summaryOf = (...given: Parameters<typeof answer>): Summary => answer(...given).summary;

/** n finds of each name, uniform in the trench, then moved where `place` says. */
function scatter(
  names: readonly string[],
  place: (i: number, name: string, xy: readonly [number, number]) => [number, number],
) {
  const xy = scatterIn(trench, names.length, 12);
  names.forEach((name, i) => {
    xy.set(place(i, name, [xy[2 * i], xy[2 * i + 1]]), 2 * i);
  });
  return xy;
}
const times = (n: number, name: string) => new Array<string>(n).fill(name);

/** beads with thread, gun flints elsewhere, nails everywhere; every heap on its own patch of the trench */
const names = [
  ...times(40, 'nail'),
  ...times(20, 'bead'),
  ...times(20, 'thread'),
  ...times(20, 'flint'),
  ...times(3, 'bell'),
];
const planted = () =>
  classed(
    scatter(names, (i, name, [x, y]) => {
      const [u, v] = [(i % 5) / 5, (Math.floor(i / 5) % 4) / 4];
      if (name === 'bead') return [1 + u, 6 + v];
      if (name === 'thread') return [1.07 + u, 6.03 + v];
      return name === 'flint' ? [10 + u, 1 + v] : [x, y];
    }),
    trench,
    names,
  );

describe('the table of nearest neighbours', () => {
  test('classes stand in the order of their letters, capitals first, whatever the order of the file', () => {
    const xy = Float64Array.of(1, 1, 1.1, 1, 4, 4, 4.2, 4);
    const { dixon } = summaryOf(classed(xy, trench, ['pot', 'axe', 'Zinc', 'axe']), {}, 0);
    expect(dixon.classes).toEqual(['Zinc', 'axe', 'pot']);
    expect(dixon.counts).toEqual([1, 2, 1]);
    expect(dixon.table).toEqual([
      [0, 1, 0],
      [1, 0, 1],
      [0, 1, 0],
    ]);
  });

  test('of equally near neighbours the lowest row of the file counts', () => {
    const row = (...marks: string[]) => summaryOf(classed(Float64Array.of(2, 1, 1, 1, 3, 1), trench, marks), {}, 0);
    expect(row('a', 'b', 'c').dixon.table[0]).toEqual([0, 1, 0]);
    expect(row('a', 'c', 'b').dixon.table[0]).toEqual([0, 0, 1]);
    expect(row('a', 'b', 'c').tied).toBe(1);
  });

  test('finds of unknown class are left out and counted', () => {
    const sample = planted();
    const unknown = { ...sample, classCode: sample.classCode.map((code, i) => (i < 4 ? 0 : code)) };
    const { summary, cautions } = answer(unknown, {}, 0);
    expect([summary.n, summary.class_unknown]).toEqual([99, 4]);
    expect(cautions.join(' ')).toContain('4 finds of unknown class were left out');
  });

  test('own neighbours of heaps stand out cell by cell, allowing for all cells', () => {
    const { dixon, pielou } = summaryOf(planted(), {}, 999);
    const flint = dixon.classes.indexOf('flint');
    expect(dixon.z[flint][flint]).toBeGreaterThan(5);
    expect(dixon.p_cell_simulated[flint][flint]).toBe(0.001);
    expect(dixon.p_cell_holm[flint][flint]).toBeCloseTo(0.016, 12);
    expect(dixon.p_simulated).toBe(0.001);
    expect(pielou?.size_at_5_percent).toBeGreaterThan(0.05);
    expect(pielou?.size_at_5_percent).toBeLessThan(0.3);
  });
});

describe('pairs of classes', () => {
  test('what was laid together and apart is found, and the answer leads with the strongest', () => {
    const summary = summaryOf(planted(), { distances: '0.3,0.8', block_m: 1 }, 999);
    const row = (first: string, second: string) => {
      const found = summary.pairs.find((pair) => pair.first === first && pair.second === second);
      if (!found) throw new Error(`no pair ${first}, ${second}`);
      return found;
    };
    expect(row('bead', 'thread')).toMatchObject({ reading: 'together', p: 0.001, shared_squares: 1 });
    expect(row('bead', 'thread').ratio).toBeGreaterThan(3);
    expect(row('bead', 'thread').jaccard.value).toBe(1);
    expect(row('bead', 'flint')).toMatchObject({ reading: 'apart', ratio: 0, low: 0 });
    expect(row('bead', 'flint').high).toBeGreaterThan(0);
    expect(row('bead', 'flint').robinson_brainerd.value).toBe(0);
    expect(row('bead', 'bell')).toMatchObject({ reading: 'cannot tell', p: null, reason: 'too few finds: bell 3' });
    expect(summary.sentence).toMatch(/^Of 6 pairs of classes \(103 finds\)/);
    // two heaps on one patch: an effect and a p, but nothing to tell an interval from
    expect(row('bead', 'thread')).toMatchObject({ low: null, reason: expect.stringContaining('few patches') });
    expect(summary).toMatchObject({ effect: row('bead', 'thread').ratio, p: 0.001 });
    expect(summary.tests).toMatchObject({
      pairs: 6,
      jaccard: 6,
      robinson_brainerd: 6,
      cells: 16,
      overall: 1,
      total: 35,
    });
  });

  test('a pair named beforehand leads, by its own p, in either order', () => {
    const asked = summaryOf(planted(), { first: 'thread', second: 'bead', distances: '0.5' });
    expect(asked.sentence).toMatch(/^bead and thread lie together: within 0\.5 m .* p = 0\.005, 20 and 20 finds/);
    expect(asked.p_holm).toBeCloseTo(0.03, 12);
    const quiet = summaryOf(planted(), { first: 'nail', second: 'bell', distances: '0.5' });
    expect(quiet.sentence).toMatch(/^Cannot tell whether bell and nail lie together or apart: .*too few finds: bell 3/);
  });

  test('names dealt at random are not told apart, and the sentence says what would have been seen', () => {
    const sample = classed(scatterIn(trench, 80, 4), trench, [...times(40, 'nail'), ...times(40, 'jar')]);
    const summary = summaryOf(sample, { distances: '0.8' });
    expect(summary.pairs[0].reading).toBe('cannot tell');
    expect(summary.sentence).toMatch(
      /^Cannot tell whether jar and nail lie together or apart: .*seen four times in five/,
    );
    const { ratio, low, high } = summary.pairs[0];
    expect(low).toBeLessThan(ratio ?? 0);
    expect(high).toBeGreaterThan(ratio ?? Infinity);
  });

  test('without dealings there are numbers and no p; with too few the answer says how many are needed', () => {
    const without = summaryOf(planted(), {}, 0);
    expect(without.pairs.every((row) => row.p === null && row.reading === 'cannot tell')).toBe(true);
    expect(without.tests.pairs).toBe(0);
    const few = answer(planted(), {}, 99);
    expect(few.summary.sentence).toContain('99 dealings are too few to allow for 6 pairs');
    expect(few.cautions.join(' ')).toContain('ask for at least 120 simulations');
  });

  test('the mean of the dealings is K of all finds together', () => {
    const sample = planted();
    const { pairs } = summaryOf(sample, { distances: '0.8' }, 1999);
    for (const row of pairs.filter((pair) => pair.n_second > 3 && pair.n_first > 3)) {
      const [{ chance_low: low, chance_high: high, expected_m2: expected }] = row.at;
      expect(expected).toBeCloseTo(pairs[0].at[0].expected_m2 ?? 0, 12);
      expect(low).toBeLessThan(1);
      expect(high).toBeGreaterThan(1);
    }
  });
});

describe('groups', () => {
  const sherds = (): Sample => {
    // eight jars of five sherds and as many bowls, each in a heap; what heaps is the vessel, not the class
    const random = randomStream(21, 0);
    const centres = scatterIn(trench, 16, 8);
    const xy = new Float64Array(160);
    const potVessel: string[] = [];
    const marks: string[] = [];
    for (let i = 0; i < 80; i++) {
      const vessel = Math.floor(i / 5);
      xy[2 * i] = centres[2 * vessel] + 0.04 * random.next();
      xy[2 * i + 1] = centres[2 * vessel + 1] + 0.04 * random.next();
      potVessel.push(`V${vessel}`);
      marks.push(vessel % 2 === 0 ? 'jar' : 'bowl');
    }
    const sample = classed(xy, trench, marks);
    return { ...sample, detail: { ...sample.detail, potVessel } };
  };

  test('sherds of one vessel are one permutation unit: the law calls segregation, the dealings do not', () => {
    const { summary, cautions } = answer(sherds(), { distances: '0.5' }, 499);
    expect(summary.labelling).toMatchObject({ units: 16, grouped: 80, fixed: 0 });
    expect(summary.dixon.p).toBeLessThan(1e-6);
    expect(summary.dixon.p_simulated).toBeGreaterThan(0.05);
    expect(summary.pairs[0].p).toBeGreaterThan(0.05);
    const alone = summaryOf({ ...sherds(), detail: unknownDetail(80) }, { distances: '0.5' }, 499);
    expect(alone.pairs[0]).toMatchObject({ p: 0.002, reading: 'apart' });
    expect(cautions.join(' ')).toContain('80 finds move only with their concretion or pot vessel');
  });

  test('a class whose groups have sizes of their own is named, and tested by moving the other', () => {
    const sample = sherds();
    const potVessel = sample.detail.potVessel.map((_, i) => (i % 10 < 5 ? 'one great jar' : null));
    const marks = sample.classCode.map((_, i) => (i % 10 < 5 ? 1 : 2 + (i % 2)));
    const great = {
      ...sample,
      classes: ['jar', 'pin', 'tack'],
      classCode: marks,
      detail: { ...sample.detail, potVessel },
    };
    const { summary, cautions } = answer(great, { distances: '0.5' });
    expect(summary.labelling).toMatchObject({ units: 41, grouped: 40, fixed: 40, fixed_classes: ['jar'] });
    expect(summary.pairs.find((row) => row.second === 'pin')?.p).not.toBeNull();
    expect(cautions.join(' ')).toContain('No dealing moves jar');
  });

  test('names stay in their season or square when asked to', () => {
    const sample = planted();
    const seasoned = {
      ...sample,
      seasons: ['S1', 'S2'],
      seasonCode: sample.classCode.map((_, i) => (names[i] === 'flint' ? 2 : 1)),
    };
    // flints are the only finds of their season: nothing can be dealt to them
    const within = summaryOf(seasoned, { labelling: 'within_seasons', distances: '0.5' });
    expect(within.labelling.fixed_classes).toEqual(['flint']);
    const inSquares = summaryOf(seasoned, { labelling: 'within_squares', distances: '0.5', block_m: 2 });
    expect(inSquares.pairs.every((row) => row.robinson_brainerd.p === null)).toBe(true);
    expect(inSquares.pairs.some((row) => row.p !== null)).toBe(true);
    expect(answer(seasoned, {}, 19).cautions.join(' ')).toContain('labelling = within_seasons');
  });
});

describe('squares of a site', () => {
  const dug = { season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 4, 4) };
  const sample = (more: Parameters<typeof smallSample>[1] = {}) =>
    smallSample(
      {
        areas: [dug],
        finds: [
          pointFind('1', 0.5, 0.5),
          // on the line between A1 and B1: the lower column
          pointFind('2', 1, 0.5),
          // recorded in C3 although measured into D4
          pointFind('3', 3.5, 3.5, { square: 'C3' }),
          pointFind('4', 2.5, 2.5, { artefact_class: 'nail' }),
          { find: '5', season: 'S1', artefact_class: 'nail', position_kind: 'square', square: 'A1' },
          { find: '6', season: 'S1', artefact_class: 'nail', position_kind: 'square', square: 'B2' },
        ],
      },
      more,
    );

  test('the stated square counts, then the boundary rule, and finds known by their square count in it', () => {
    const summary = summaryOf(sample(), {}, 0);
    // jars: A1 twice, C3; nails: C3, A1, B2
    expect(summary.pairs[0]).toMatchObject({
      first: 'jar',
      second: 'nail',
      n_first: 3,
      n_second: 1,
      shared_squares: 2,
    });
    near(summary.pairs[0].jaccard.value, 2 / 3, { relative: 1e-12 });
    near(summary.pairs[0].robinson_brainerd.value, 200 * (2 / 3), { relative: 1e-12 });
    expect(summary.squares).toEqual({ side_m: 1, with_ground: 16, with_finds: 3, by_area: 2 });
    expect(summary.n_squares).toBe(6);
    expect(summary.distances_m).toEqual([0.25, 0.5, 1]);
    expect(summary.tree.joinings).toHaveLength(1);
  });

  test('finds known by their square only are redrawn inside it for the range of ratios, or left out', () => {
    const { summary, cautions } = answer(sample(), { distances: '1.2' }, 0);
    const { ratio, over_draws: range } = summary.pairs[0];
    expect(range?.low).toBeLessThanOrEqual(range?.high ?? 0);
    expect(range?.high).not.toBe(ratio);
    expect(cautions.join(' ')).toContain('2 finds known by a square or area only');
    const without = summaryOf(sample({ squareOnly: 'exclude' }), {}, 0);
    expect(without.pairs[0]).toMatchObject({ over_draws: null, shared_squares: 1 });
  });

  test('children of one concretion are one spot', () => {
    const child = (find: string, artefactClass: string) =>
      pointFind(find, 2.2, 1.3, { artefact_class: artefactClass, concretion: 'K1' });
    const records = { areas: [dug], finds: [child('1', 'nail'), child('2', 'nail'), pointFind('3', 1.5, 1.5)] };
    expect(summaryOf(smallSample(records, { spot: 'concretion' }), {}, 0).n).toBe(2);
    const children = summaryOf(smallSample(records, { spot: 'find' }), {}, 9);
    expect([children.n, children.labelling.units]).toEqual([3, 2]);
  });
});

describe('refusals', () => {
  test.each([
    [{ distances: '1,0.5' }, /distances must rise .* number 2 is 0\.5/],
    [{ distances: 'near' }, /number 1 is NaN/],
    [{ distances: '0' }, /above 0 m/],
    [{ distances: Array.from({ length: 13 }, (_, k) => k + 1) }, /13 distances are too many/],
    [{ first: 'bead' }, /input second: a pair needs two different classes/],
    [{ first: 'bead', second: 'bead' }, /two different classes/],
    [{ first: 'bead', second: 'bean' }, /class "bean" is not among the finds chosen; there are: bead, bell/],
  ])('%j', (own, sentence) => {
    expect(() => answer(planted(), own)).toThrow(sentence);
  });

  test('more classes than a table holds, and more dealings than fit', () => {
    const many = Array.from({ length: 41 }, (_, k) => `class ${k}`);
    expect(() => answer(classed(scatterIn(trench, 41, 2), trench, many))).toThrow(
      /41 classes are too many .* at most 40/,
    );
    expect(() => answer(planted(), {}, 99_999_999)).toThrow(/too many for one run; at most \d+ fit/);
  });

  test('one class, or no find: there is nothing to compare, and the answer says so', () => {
    const alone = summaryOf(classed(scatterIn(trench, 9, 2), trench, times(9, 'jar')));
    expect(alone).toMatchObject({ n: 9, effect: null, pairs: [] });
    expect(alone.sentence).toContain('only one class');
    const empty = summaryOf(classed(new Float64Array(0), trench, []));
    expect(empty.sentence).toContain('no find of known class');
    expect(empty.dixon).toMatchObject({ classes: [], table: [], chi2: null, p: null });
  });
});
