import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';

export const parameters = z.strictObject({
  edge: z.enum(['none', 'donnelly', 'kaplan_meier']).default('none').meta({
    title: 'Edge correction',
    description:
      'How `ratio` allows for neighbours beyond the edge: none (Clark & Evans as printed), donnelly (rectangles only), kaplan_meier (any window, without z and p)',
  }),
  k: z.int().min(1).max(100).nullable().default(null).meta({
    title: 'Neighbours',
    description: 'Mean distances to the first, second … k-th neighbour; none = 5, or n − 1 where fewer',
  }),
});
export type Parameters = z.output<typeof parameters>;

const ratio = plain('Ratio: below 1 clustered, above 1 evenly spaced').nullable();
const zValue = plain('z by the normal law').nullable();
const probability = plain('Two-sided p by the normal law').nullable();
const tails = {
  p_clustered: plain('One-sided p, clustered').nullable(),
  p_regular: plain('One-sided p, evenly spaced').nullable(),
};
const simulated = z
  .strictObject({
    p_clustered: plain('Share of random scatters with a mean distance as small or smaller'),
    p_regular: plain('Share of random scatters with a mean distance as large or larger'),
    p_two_sided: plain('Twice the smaller of both, at most 1'),
    simulations: counted('Random scatters in the same window'),
  })
  .nullable();

export const result = z.strictObject({
  n: counted('Finds used'),
  window_area_m2: squareMetres('Area of the window'),
  mean_distance_m: metres('Mean distance to the nearest other find').nullable(),
  expected_distance_m: metres('Mean expected at random, without edge').nullable(),
  edge: z.enum(['none', 'donnelly', 'kaplan_meier']).meta({ title: 'Edge correction of `ratio`' }),
  ratio,
  clark_evans: z.strictObject({ ratio, z: zValue, p: probability, ...tails }),
  donnelly: z
    .strictObject({
      ratio,
      z: zValue,
      p: probability,
      ...tails,
      expected_distance_m: metres('Mean expected at random'),
    })
    .nullable(),
  donnelly_reason: z.string().nullable().meta({ title: 'Why there is no Donnelly correction' }),
  kaplan_meier: z
    .strictObject({ ratio: plain('Ratio'), mean_distance_m: metres('Mean distance, edge allowed for') })
    .nullable(),
  simulated,
  kth_mean_distance_m: z.array(metres('Mean distance to the k-th neighbour')),
  kth_expected_m: z.array(metres('Expected at random, without edge')),
  coincident: counted('Finds that share their place with another'),
  by_class: z.array(
    z.strictObject({
      artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
      n: counted('Finds used'),
      mean_distance_m: metres('Mean distance to the nearest other find of the class').nullable(),
      ratio,
      z: zValue,
      p: probability,
      p_clustered: plain('Simulated p, clustered').nullable(),
      p_regular: plain('Simulated p, evenly spaced').nullable(),
      p_two_sided: plain('Simulated p, two-sided').nullable(),
    }),
  ),
});
export type Summary = z.output<typeof result>;
