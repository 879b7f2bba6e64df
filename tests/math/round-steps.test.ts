import { expect, test } from 'vitest';
import { roundStepFrom } from '../../src/math/round-steps.js';

test('the least round step that is not smaller', () => {
  for (const [least, step] of [
    [0.25, 0.5],
    [0.5, 0.5],
    [0.1, 0.1],
    [0.11, 0.2],
    [0.051, 0.1],
    [3, 5],
    [7, 10],
    [1, 1],
  ]) {
    expect(roundStepFrom(least), String(least)).toBe(step);
  }
});
