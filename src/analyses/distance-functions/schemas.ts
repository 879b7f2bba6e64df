import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';
import { edgeCorrections } from '../../math/k-function.js';
import { readRadii } from './asked-radii.js';

/** Functions a test can be made of. */
export const functions = ['K', 'L', 'pcf', 'G', 'F', 'J'] as const;
export type TestedFunction = (typeof functions)[number];

/** What the observed pattern is held against. */
export const nullModels = ['uniform', 'random_labelling', 'inhomogeneous', 'toroidal_shift'] as const;
export type NullModel = (typeof nullModels)[number];

const classNames = z
  .union([z.string(), z.array(z.string())])
  .nullable()
  .default(null)
  .transform((given) => (given === null ? null : Array.isArray(given) ? given : [given]));

/** Own inputs of distance-functions. */
export const parameters = z.strictObject({
  r: z
    .union([z.array(z.string()), z.array(z.number()), z.string()])
    .nullable()
    .default(null)
    .transform((given, context) => {
      const read = readRadii(given);
      if (typeof read !== 'string') return read;
      context.addIssue({ code: 'custom', message: read });
      return z.NEVER;
    })
    .meta({
      title: 'Radii',
      description:
        'Rising distances in metres, as a list or as text "0.25,0.5,1"; none = 64 steps up to a quarter of the shorter side of the box around the window',
      'x-ogc-unit': 'm',
    }),
  edge: z.enum(edgeCorrections).default('translation').meta({
    title: 'Edge correction tested',
    description:
      'Of K, L and pcf in the test, envelope and figure; all corrections are printed. translation: exact in any window, the same in either direction, steadier than border',
  }),
  function: z.enum(functions).default('L').meta({
    title: 'Function tested',
    description:
      'One function for the tests, envelope and figure, chosen before looking; G, F and J in Kaplan–Meier form',
  }),
  from: classNames.meta({
    title: 'From class',
    description:
      'Class or classes of the finds looked from; with `to`: finds of the second type about those of the first',
  }),
  to: classNames.meta({
    title: 'To class',
    description: 'Class or classes of the finds looked for; none with `from` = all finds among themselves',
  }),
  null_model: z.enum(nullModels).nullable().default(null).meta({
    title: 'Null model',
    description:
      'uniform: anywhere in the window (of two types the first is laid out, the second stays); random_labelling: places stay, class names are dealt; inhomogeneous: after a smoothed density; toroidal_shift: the first type slid as a whole, rectangles only; none = uniform for one type, random_labelling for two',
  }),
  hanisch: z.boolean().default(false).meta({
    title: 'Hanisch',
    description: "Also Hanisch's form of G, which needs the eroded window",
  }),
  bandwidth: z
    .union([z.number().positive(), z.enum(['scott', 'lcv'])])
    .default('scott')
    .meta({
      title: 'Bandwidth',
      description:
        'Of the density behind null_model = inhomogeneous: standard deviation of the kernel in metres, or a rule (scott, lcv)',
      'x-ogc-unit': 'm',
    }),
});
export type Parameters = z.output<typeof parameters>;

const curveOf = (unit: typeof metres, title: string) =>
  z.array(unit(title).nullable()).meta({ title: `${title}; one value for each r, none = undefined` });
const byEdge = (unit: typeof metres, title: string) => ({
  none: curveOf(unit, `${title}, no edge correction`),
  isotropic: curveOf(unit, `${title}, isotropic correction`),
  translation: curveOf(unit, `${title}, translation correction`),
});
const withBorder = (unit: typeof metres, title: string) =>
  z.strictObject({ ...byEdge(unit, title), border: curveOf(unit, `${title}, border correction`) });
const shares = (what: string) => ({
  raw: curveOf(plain, `${what} within r, as counted`),
  reduced_sample: curveOf(plain, `${what} within r, among those at least r from the edge`),
  kaplan_meier: curveOf(plain, `${what} within r, Kaplan–Meier`),
});

const probability = plain('Share of patterns as extreme, (1 + number) / (simulations + 1)');
const band = {
  low: curveOf(plain, 'Lower end of the band'),
  high: curveOf(plain, 'Upper end of the band'),
  level: plain('Share of random patterns whose curve leaves the band anywhere').nullable(),
  first_outside_m: metres('Smallest r at which the observed curve leaves the band').nullable(),
};

const globalTests = z
  .strictObject({
    tested_from_m: metres('Smallest r tested'),
    tested_to_m: metres('Largest r tested'),
    radii: counted('Radii tested'),
    mad: z.strictObject({ p: probability, statistic: plain('Largest deviation'), ...band }),
    dclf: z.strictObject({ p: probability, statistic: plain('Integrated squared deviation') }),
    extreme_rank_length: z.strictObject({ p: probability, ...band }),
  })
  .nullable();

/** What distance-functions answers. */
export const result = z.strictObject({
  n: counted('Finds used'),
  n_from: counted('Finds of the first type').nullable(),
  n_to: counted('Finds of the second type').nullable(),
  window_area_m2: squareMetres('Area of the window'),
  reading: z.string().meta({ title: 'What the tests say, in words' }),
  function: z.enum(functions).meta({ title: 'Function tested' }),
  edge: z.enum(edgeCorrections).nullable().meta({ title: 'Edge correction tested; none = Kaplan–Meier' }),
  null_model: z.enum(nullModels).meta({ title: 'Null model' }),
  simulations: counted('Simulations'),
  coincident: counted('Finds that share their place with another'),
  leaves_global_band_m: metres('Smallest r at which the curve leaves the global band (extreme rank length)').nullable(),
  leaves_global_band: z
    .enum(['above', 'below'])
    .nullable()
    .meta({ title: 'Side on which it leaves the band: above = more neighbours than chance (for J: fewer)' }),
  global: globalTests,
  envelope: z
    .strictObject({
      observed: curveOf(plain, 'Observed, by the estimator of the simulations'),
      mean: curveOf(plain, 'Mean of the simulations'),
      low: curveOf(plain, 'Lower end, for ONE r chosen beforehand'),
      high: curveOf(plain, 'Upper end, for ONE r chosen beforehand'),
      pointwise_level: plain('Share of random patterns outside at ONE r'),
    })
    .nullable(),
  r: z.array(metres('Radius')),
  K: withBorder(squareMetres, 'K'),
  L: withBorder(metres, 'L'),
  pcf: z.strictObject(byEdge(plain, 'Pair correlation')),
  pcf_half_width_m: metres('Half-width of the pair correlation kernel').nullable(),
  G: z.strictObject({
    ...shares('Finds with a neighbour'),
    hanisch: curveOf(plain, 'Finds with a neighbour within r, Hanisch').nullable(),
  }),
  F: z.strictObject({ ...shares('Ground with a find'), test_places: counted('Places looked from') }),
  J: curveOf(plain, 'J, Kaplan–Meier'),
  inhomogeneous: z
    .strictObject({
      bandwidth_m: metres('Bandwidth of the density'),
      K: z.strictObject({
        isotropic: curveOf(squareMetres, 'Inhomogeneous K, isotropic'),
        translation: curveOf(squareMetres, 'Inhomogeneous K, translation'),
      }),
      L: z.strictObject({
        isotropic: curveOf(metres, 'Inhomogeneous L, isotropic'),
        translation: curveOf(metres, 'Inhomogeneous L, translation'),
      }),
    })
    .nullable(),
  labelling: z
    .strictObject({
      units: counted('Groups and single finds dealt as wholes'),
      grouped: counted('Finds that move only with their concretion or pot vessel'),
      fixed: counted('Finds in a group of which no other has the same size: they keep their class'),
    })
    .nullable(),
});
export type Summary = z.output<typeof result>;
