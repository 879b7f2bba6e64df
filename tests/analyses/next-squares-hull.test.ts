import { expect, test } from 'vitest';
import {
  type HullQuestion,
  hullContinuity,
  type NamedTimber,
} from '../../src/analyses/next-squares/hull-continuity.js';
import { boxRegion } from '../../src/math/tiles.js';

const line = (name: string, ...corners: number[]): NamedTimber => ({
  name,
  type: 'line',
  parts: [Float64Array.from(corners)],
});

/** ground dug to its end: 5 m by 5 m from 0, 0 */
const ask = (more: Partial<HullQuestion>) =>
  hullContinuity({
    surviving: [],
    projected: [],
    axis: null,
    finished: boxRegion([0, 0, 5, 5]),
    edgeM: 0.25,
    continueM: 2,
    ...more,
  });

test('a timber cut off by the edge of the digging ends at the square beyond it', () => {
  const of = ask({ surviving: [line('keelson', 1, 2.5, 4.9, 2.5)] });
  expect(of([5, 2, 6, 3]).endsAtEdge).toEqual(['keelson']);
  // the next one on its way is pointed at, its neighbours are not
  expect(of([6, 2, 7, 3])).toMatchObject({ endsAtEdge: [], pointsAt: [{ name: 'keelson' }] });
  expect(of([6, 2, 7, 3]).pointsAt[0].afterM).toBeCloseTo(1.1, 12);
  expect(of([7, 2, 8, 3]).pointsAt).toEqual([]);
  expect(of([5, 3, 6, 4]).endsAtEdge).toEqual([]);
});

test('a timber that ends amid dug ground has ended', () => {
  const of = ask({ surviving: [line('frame', 1, 2.5, 4.5, 2.5)] });
  expect(of([5, 2, 6, 3])).toMatchObject({ endsAtEdge: [], pointsAt: [] });
  const wider = ask({ surviving: [line('frame', 1, 2.5, 4.5, 2.5)], edgeM: 0.6 });
  expect(wider([5, 2, 6, 3]).endsAtEdge).toEqual(['frame']);
});

test('an end on ground not finished counts: nobody has seen where it stops', () => {
  const of = ask({ surviving: [line('plank', 4, 2.5, 5.6, 2.5)] });
  expect(of([6, 2, 7, 3]).pointsAt).toEqual([{ name: 'plank', afterM: expect.closeTo(0.4, 12) }]);
  expect(of([5, 2, 6, 3]).seen).toEqual(['plank']);
});

test('both ends of an area count along its length, and a feature is named once', () => {
  const plank: NamedTimber = {
    name: 'ceiling',
    type: 'area',
    parts: [Float64Array.of(0.05, 1.4, 4.95, 1.4, 4.95, 1.6, 0.05, 1.6)],
  };
  const of = ask({ surviving: [plank, line('keelson', 0.1, 1.5, 4.9, 1.5)] });
  expect(of([5, 1, 6, 2]).endsAtEdge).toEqual(['ceiling', 'keelson']);
  expect(of([-1, 1, 0, 2]).endsAtEdge).toEqual(['ceiling', 'keelson']);
});

test('what is seen in a square, and what is only drawn there', () => {
  const of = ask({ surviving: [line('frame', 4, 4, 7, 4)], projected: [line('keel', 4.2, 0, 4.2, 9)] });
  expect(of([5, 3.5, 6, 4.5])).toMatchObject({ seen: ['frame'], projected: [] });
  expect(of([4, 6, 5, 7])).toMatchObject({ seen: [], projected: ['keel'] });
  // the line stops before it
  expect(of([8, 3.5, 9, 4.5]).seen).toEqual([]);
});

test('the ship axis: within its length, beyond either end, too far beyond', () => {
  const of = ask({ axis: { after: [1, 2.5], bow: [4, 2.5] } });
  expect(of([2, 2, 3, 3]).axis).toEqual({ beyondM: 0, end: null });
  expect(of([5, 2, 6, 3]).axis).toEqual({ beyondM: 1, end: 'bow' });
  expect(of([-1, 2, 0, 3]).axis).toEqual({ beyondM: 1, end: 'after' });
  expect(of([7, 2, 8, 3]).axis).toBeNull();
  expect(of([2, 4, 3, 5]).axis).toBeNull();
});

test('what would run into a square comes nearest first', () => {
  const of = ask({ surviving: [line('far', 1, 2.4, 4.8, 2.4), line('near', 1, 2.6, 5.5, 2.6)] });
  expect(of([6, 2, 7, 3]).pointsAt.map(({ name }) => name)).toEqual(['near', 'far']);
});
