import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import * as distributions from '../../src/math/distributions.js';
import { kolmogorovExact, kolmogorovLimit } from '../../src/math/kolmogorov.js';
import { near } from '../support/near.js';

// Against R 4.2.2, package stats; the script that made the values and each call are kept beside them.

interface Called {
  readonly call: string;
  readonly name: string;
  readonly arguments: readonly number[];
  readonly value: number;
}

const file = join(import.meta.dirname, '../reference/special_functions_r.json');
const { values } = JSON.parse(readFileSync(file, 'utf8')) as { readonly values: readonly Called[] };

const ours: Readonly<Record<string, (a: number, b: number, c: number) => number>> = {
  normalUpperTail: distributions.normalUpperTail,
  chiSquareUpperTail: distributions.chiSquareUpperTail,
  chiSquareLowerTail: distributions.chiSquareLowerTail,
  studentUpperTail: distributions.studentUpperTail,
  fUpperTail: distributions.fUpperTail,
  incompleteBeta: (x, a, b) => distributions.incompleteBeta({ a, b, x }),
  logGamma: distributions.logGamma,
  kolmogorovLimit,
  kolmogorovExact,
};

/** R subtracts the exact law from one, which leaves a few last places of one */
const cancelled = 4e-15;

test.each(Object.keys(ours))('%s agrees with R to 1e-12, tails included', (name) => {
  const asked = values.filter((value) => value.name === name);
  expect(asked.length).toBeGreaterThanOrEqual(5);
  for (const { call, arguments: given, value } of asked) {
    const [a, b, c] = given;
    try {
      near(ours[name](a, b, c), value, { relative: 1e-12, absolute: name === 'kolmogorovExact' ? cancelled : 0 });
    } catch (error) {
      throw new Error(`${call}: ${(error as Error).message}`);
    }
  }
});
