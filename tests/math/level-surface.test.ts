import { describe, expect, test } from 'vitest';
import { straightPieces } from '../../src/math/hull-distance.js';
import { levelledSurface } from '../../src/math/level-surface.js';
import { randomStream } from '../../src/math/random.js';
import { relativeDepth } from '../../src/math/relative-depth.js';
import { stepsFromLines } from '../../src/math/steps-from-lines.js';
import { nodeLevels, readingsOf } from '../support/levelled-nodes.js';
import { allNear, near } from '../support/near.js';

const plane = (x: number, y: number) => 0.3 - 0.05 * x + 0.02 * y;
const asked = { surface: 'deposit_top', season: 'S1', stepM: 1, unstatedSigmaM: 0.03 };
const nodes = nodeLevels({ columns: 6, rows: 5, surface: 'deposit_top', season: 'S1', sigma: 0.02, field: plane });

describe('one surface of one season', () => {
  test('a plane is read back everywhere on the nodes, and nowhere beyond', () => {
    const read = levelledSurface(readingsOf(nodes), asked);
    const xy = Float64Array.of(0, 0, 2.3, 1.7, 5, 4, 5.2, 1);
    const { value, sigma } = read!(xy);
    allNear(value.slice(0, 3), [plane(0, 0), plane(2.3, 1.7), plane(5, 4)], { absolute: 1e-12 });
    expect(value[3]).toBeNaN();
    near(sigma[0], 0.02, { relative: 1e-12 });
    expect(sigma[1]).toBeLessThan(0.02);
  });

  test('a re-laid grid, turned and shifted, is a lattice of its own', () => {
    const turn = (0.18 * Math.PI) / 180;
    const relaid = nodes.map((row) => {
      const x = row.x * Math.cos(turn) - row.y * Math.sin(turn) + 0.12;
      const y = row.x * Math.sin(turn) + row.y * Math.cos(turn) - 0.07;
      return { ...row, x, y, elevation: plane(x, y) };
    });
    const { value } = levelledSurface(readingsOf(relaid), asked)!(Float64Array.of(2.31, 1.72, 4.4, 3.3));
    allNear(value, [plane(2.31, 1.72), plane(4.4, 3.3)], { absolute: 1e-9 });
  });

  test('readings on no lattice are joined to triangles', () => {
    const random = randomStream(3, 3);
    const scattered = Array.from({ length: 40 }, () => {
      const [x, y] = [10 * random.next(), 10 * random.next()];
      return { x, y, surface: 'deposit_top', season: 'S1', elevation: plane(x, y) };
    });
    const { value, sigma } = levelledSurface(readingsOf(scattered), { ...asked, stepM: null })!(Float64Array.of(5, 5));
    near(value[0], plane(5, 5), { absolute: 1e-9 });
    expect(sigma[0]).toBeLessThanOrEqual(0.03);
  });

  test('with one corner missing the other three carry their triangle only', () => {
    const read = levelledSurface(readingsOf(nodes.filter((row) => !(row.x === 2 && row.y === 2))), asked);
    const { value } = read!(Float64Array.of(1.2, 1.3, 1.8, 1.9));
    near(value[0], plane(1.2, 1.3), { absolute: 1e-12 });
    expect(value[1]).toBeNaN();
  });

  test('other seasons, other surfaces, readings set aside and unwanted ones do not count', () => {
    const levels = readingsOf(nodes);
    expect(levelledSurface(levels, { ...asked, season: 'S2' })).toBeNull();
    expect(levelledSurface(levels, { ...asked, surface: 'hard_substrate' })).toBeNull();
    expect(levelledSurface({ ...levels, state: levels.state.map(() => 'set_aside') }, asked)).toBeNull();
    expect(levelledSurface(levels, { ...asked, counts: () => false })).toBeNull();
  });
});

describe('relative depth', () => {
  test('top 0, bottom 1, and its error as many times thrown', () => {
    expect(relativeDepth({ top: 1, topSigma: 0, bottom: 0, bottomSigma: 0, z: 1, zSigma: 0 }).u).toBe(0);
    expect(relativeDepth({ top: 1, topSigma: 0, bottom: 0, bottomSigma: 0, z: 0, zSigma: 0 }).u).toBe(1);
    const random = randomStream(5, 5);
    const normal = () => {
      let sum = -6;
      for (let k = 0; k < 12; k++) sum += random.next();
      return sum;
    };
    const given = { top: 0, topSigma: 0.02, bottom: -0.5, bottomSigma: 0.03, z: -0.4, zSigma: 0.04 };
    const thrown = Array.from({ length: 4000 }, () => {
      const top = 0.02 * normal();
      return (top - (-0.4 + 0.04 * normal())) / (top - (-0.5 + 0.03 * normal()));
    });
    const mean = thrown.reduce((sum, u) => sum + u / thrown.length, 0);
    const sd = Math.sqrt(thrown.reduce((sum, u) => sum + (u - mean) ** 2 / thrown.length, 0));
    const { u, sigma } = relativeDepth(given);
    near(u, 0.8, { absolute: 1e-12 });
    near(sd, sigma, { relative: 0.06 });
  });
});

describe('steps from lines', () => {
  test('square to a line, from its end beyond it, and none inside an area', () => {
    const pieces = straightPieces([
      { type: 'line', parts: [Float64Array.of(0, 0, 10, 0)] },
      { type: 'area', parts: [Float64Array.of(20, 0, 24, 0, 24, 4, 20, 4)] },
    ]);
    const steps = stepsFromLines(Float64Array.of(3, 2, 13, 4, 22, 2, 26, 1), pieces);
    allNear(steps, [0, 2, 3, 4, 0, 0, 2, 0], { absolute: 1e-12 });
  });
});
