import { describe, expect, test } from 'vitest';
import { makeSample, type SampleRequest } from '../../src/domain/make-sample.js';
import { orientRings } from '../../src/math/rings.js';
import { box, smallSurvey } from '../support/small-site.js';

const ask = (changes: Partial<SampleRequest> = {}): SampleRequest => ({
  seasons: [],
  classes: [],
  identifiedAsOf: null,
  within: null,
  countUnit: 'find',
  spot: 'concretion',
  squareOnly: 'exclude',
  ...changes,
});

const find = (number: string, more: Record<string, string | number | null> = {}) => ({
  find: number,
  season: 'S1',
  artefact_class: 'jar',
  position_kind: 'point',
  ...more,
});

const dug = { season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 4, 4) };

describe('the window', () => {
  test('is the union of the dug areas of the seasons chosen, holes kept', () => {
    const survey = smallSurvey({
      finds: [],
      areas: [
        { season: 'S1', progress: 'to_deposit_bottom', ring: box(0, 0, 4, 4), hole: [1, 1, 1, 2, 2, 2, 2, 1] },
        { season: 'S2', progress: 'part_dug', ring: box(3, 0, 6, 4) },
        { season: 'S2', progress: 'planned', ring: box(6, 0, 10, 8) },
        { season: 'S2', progress: 'abandoned', ring: box(0, 5, 10, 8) },
        { season: 'S1', progress: 'opened', ring: box(6, 6, 7, 7) },
      ],
    });
    expect(makeSample(survey, ask({ seasons: ['S1'] })).windowAreaM2).toBeCloseTo(15, 12);
    expect(makeSample(survey, ask({ seasons: ['S2'] })).windowAreaM2).toBeCloseTo(12, 12);
    const both = makeSample(survey, ask());
    expect(both.windowAreaM2).toBeCloseTo(23, 12);
    expect(both.windowSource).toBe('dug area of S1 (1 polygon), S2 (1 polygon)');
  });

  test('a polygon takes its dug part only', () => {
    const survey = smallSurvey({ finds: [], areas: [dug] });
    const within = orientRings([[Float64Array.from(box(2, 2, 9, 9))]]);
    expect(makeSample(survey, ask({ within })).windowAreaM2).toBeCloseTo(4, 12);
    const beyond = orientRings([[Float64Array.from(box(5, 5, 9, 9))]]);
    expect(() => makeSample(survey, ask({ within: beyond }))).toThrow(/shares no ground with the dug area/);
  });

  test('nothing dug is a refusal, not an empty answer', () => {
    expect(() => makeSample(smallSurvey({ finds: [], areas: [{ ...dug, progress: 'planned' }] }), ask())).toThrow(
      /no excavated area/,
    );
    expect(() => makeSample(smallSurvey({ finds: [] }), ask())).toThrow(/no excavated area/);
  });
});

describe('positions', () => {
  const survey = smallSurvey({
    areas: [dug],
    finds: [
      find('1', { local_x: 1, local_y: 1 }),
      find('2', { local_x: 4, local_y: 2 }),
      find('3', { local_x: 5, local_y: 2 }),
      find('4', { position_kind: 'square', square: 'B2' }),
      find('5', { position_kind: 'half_square', square: 'D4', part: 'E' }),
      find('6', { position_kind: 'line', local_x: 1, local_y: 2, end_x: 3, end_y: 2 }),
      find('7', { position_kind: 'spoil' }),
      find('8', { position_kind: 'square', square: 'H8' }),
      find('9', { position_kind: null, local_x: 3, local_y: 3 }),
    ],
  });

  test('points in the window stand, those on its edge too; the others are counted with a reason', () => {
    const sample = makeSample(survey, ask());
    expect(sample.label).toEqual(['1', '2', '6', '9']);
    expect([...sample.xy]).toEqual([1, 1, 4, 2, 2, 2, 3, 3]);
    expect(sample.selected).toBe(9);
    expect(Object.fromEntries(sample.excluded.map((e) => [e.reason, e.count]))).toEqual({
      'outside the window': 1,
      'known by an area only (square, part of a square, drawn area)': 3,
      'position spoil': 1,
    });
  });

  test('spread keeps areas, clipped to the window', () => {
    const sample = makeSample(survey, ask({ squareOnly: 'spread' }));
    expect(sample.areas.map(({ label, areaM2 }) => [label, areaM2])).toEqual([
      ['4', 1],
      ['5', 0.5],
    ]);
    expect(sample.excluded).toContainEqual({ reason: 'area outside the window', count: 1 });
  });

  test('every find is in the answer or in a reason', () => {
    for (const squareOnly of ['exclude', 'spread'] as const) {
      const sample = makeSample(survey, ask({ squareOnly }));
      const left = sample.excluded.reduce((sum, e) => sum + e.count, 0);
      expect(sample.label.length + sample.areas.length + left).toBe(sample.selected);
    }
  });
});

describe('spots and units', () => {
  const survey = smallSurvey({
    areas: [dug],
    finds: [
      find('C1', { artefact_class: 'nail', local_x: 1, local_y: 1 }),
      find('C1a', { artefact_class: 'nail', local_x: 1, local_y: 1, concretion: 'C1', count: 3, weight_g: 10 }),
      find('C1b', { artefact_class: 'jar', local_x: 1, local_y: 1, concretion: 'C1', count: 1, weight_g: 5 }),
      find('S1', { local_x: 2, local_y: 2, pot_vessel: 'P1', count: 2, weight_g: 40 }),
      find('S2', { local_x: 3, local_y: 2, pot_vessel: 'P1', count: 1 }),
      find('S3', { local_x: 3, local_y: 3, pot_vessel: 'P2', count: null, weight_g: 20 }),
    ],
  });

  test('children of one concretion are one spot', () => {
    expect(makeSample(survey, ask()).label).toEqual(['C1', 'S1', 'S2', 'S3']);
    expect(makeSample(survey, ask({ spot: 'find' })).label).toHaveLength(6);
    expect(makeSample(survey, ask({ classes: ['nail', 'jar'] })).label).toEqual(['C1', 'C1b', 'S1', 'S2', 'S3']);
  });

  test('pieces and grams are weights; what has none is left out by name', () => {
    const pieces = makeSample(survey, ask({ countUnit: 'piece', spot: 'find' }));
    expect([...pieces.weight]).toEqual([3, 1, 2, 1]);
    expect(pieces.excluded).toContainEqual({ reason: 'number of pieces not known', count: 2 });
    const grams = makeSample(survey, ask({ countUnit: 'weight' }));
    expect([...grams.weight]).toEqual([15, 40, 20]);
  });

  test('a pot vessel stands once, where its sherds lie on average', () => {
    const pots = makeSample(survey, ask({ countUnit: 'pot_vessel' }));
    expect([...pots.xy]).toEqual([2.5, 2, 3, 3]);
    expect([...pots.weight]).toEqual([1, 1]);
  });

  test('the crowd a class is compared with holds one place for each spot', () => {
    const sample = makeSample(survey, ask({ classes: ['jar'] }));
    expect(sample.others.xy.length / 2).toBe(6);
    expect(makeSample(survey, ask({ classes: ['nail'], spot: 'concretion' })).label).toEqual(['C1']);
  });
});

describe('classes and seasons', () => {
  const survey = smallSurvey({
    areas: [dug, { ...dug, season: 'S2' }],
    finds: [
      find('1', { local_x: 1, local_y: 1, artefact_class: 'nail' }),
      find('2', { local_x: 2, local_y: 1, artefact_class: 'bowl', season: 'S2' }),
      find('3', { local_x: 3, local_y: 1 }),
    ],
    identifications: [
      { find: '1', artefact_class: 'axe head', date: '2025-03-01' },
      { find: '1', artefact_class: 'jar', date: '2024-03-01' },
    ],
  });

  test('a parent takes its children', () => {
    expect(makeSample(survey, ask({ classes: ['ceramics'] })).label).toEqual(['2', '3']);
  });

  test('the class known at a date', () => {
    expect(makeSample(survey, ask({ classes: ['axe head'] })).label).toEqual(['1']);
    expect(makeSample(survey, ask({ classes: ['axe head'], identifiedAsOf: '2025-02-28' })).label).toEqual([]);
    expect(makeSample(survey, ask({ classes: ['jar'], identifiedAsOf: '2024-12-31' })).label).toEqual(['1', '3']);
    expect(makeSample(survey, ask({ classes: ['nail'], identifiedAsOf: '2023-12-31' })).label).toEqual(['1']);
  });

  test('an unknown season or class is refused with the known ones', () => {
    expect(() => makeSample(survey, ask({ seasons: ['S9'] }))).toThrow(
      /season "S9" is not known here; the seasons are S1, S2/,
    );
    expect(() => makeSample(survey, ask({ classes: ['gun'] }))).toThrow(
      /artefact class "gun" is not known here; the classes are ceramics, jar/,
    );
  });
});
