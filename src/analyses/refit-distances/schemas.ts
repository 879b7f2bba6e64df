import * as z from 'zod';
import { counted, degrees, metres, plain, squareMetres } from '../../domain/units.js';

export const parameters = z.strictObject({
  reallocate: z.enum(['class', 'pot_vessel']).default('class').meta({
    title: 'Reallocation',
    description:
      'class: sherds trade places with any find of their class (do joins stay closer than the class is spread?); pot_vessel: only with sherds of the same pot (do joins stay closer than the pot is spread?)',
  }),
  bearing: z.enum(['axial', 'heavy_to_light']).default('axial').meta({
    title: 'Bearing',
    description:
      'axial: a join has no direction; heavy_to_light: from the heavier find to the lighter, which drifts further',
  }),
  kind: z.string().nullable().default(null).meta({
    title: 'Kind of join',
    description: 'Only joins of this kind, such as physical_join; none = all',
  }),
  areas: z.enum(['none', 'dug_parts', 'ship_zones']).default('none').meta({
    title: 'Areas',
    description:
      'Also how many joins tie two areas, against reallocated finds, and whether the areas hold the classes in the same proportions. dug_parts: separate parts of the dug ground; ship_zones: zones of the ship as drawn',
  }),
  drawing: z.enum(['distances', 'rose']).default('distances').meta({
    title: 'Drawing',
    description:
      'distances: share of joins within each distance against reallocated finds; rose: bearings of the joins',
  }),
});
export type Parameters = z.output<typeof parameters>;

const p = (title: string) => plain(title).nullable();

const distances = {
  joins: counted('Joins between two places'),
  units: counted('Pot vessels, or groups of joined finds, that count as one'),
  mean_m: metres('Mean distance of joins, each unit counting once').nullable(),
  low_m: metres('Lower end of 95 %, units drawn anew').nullable(),
  high_m: metres('Upper end of 95 %').nullable(),
  median_m: metres('Median distance of joins').nullable(),
  greatest_m: metres('Greatest distance of a join').nullable(),
  expected_m: metres('Mean distance when finds trade places').nullable(),
  expected_low_m: metres('Lower end of its middle 95 %').nullable(),
  expected_high_m: metres('Upper end').nullable(),
  difference_m: metres('Mean distance less that expected: below 0 = joins stay together').nullable(),
  p_two_sided: p('Two-sided p'),
  p_closer: p('One-sided p: joins closer than reallocated finds'),
  p_farther: p('One-sided p: joins farther apart'),
};

export const result = z.strictObject({
  effect_is: z.string().meta({ title: 'What the effect is' }),
  effect: metres('Mean distance of joins less that expected').nullable(),
  low: metres('Lower end of 95 %').nullable(),
  high: metres('Upper end of 95 %').nullable(),
  p_two_sided: distances.p_two_sided,
  sentence: z.string().meta({ title: 'Answer in one sentence' }),
  tests_made: counted('Tests made in this answer'),
  n: counted('Finds used'),
  window_area_m2: squareMetres('Area of the window'),
  distances: z.strictObject(distances),
  bearings: z
    .strictObject({
      joins: counted('Joins with a bearing'),
      axial: z.boolean().meta({ title: 'Axial' }),
      mean_deg: degrees('Mean bearing of joins from site_north').nullable(),
      error_deg: degrees('Half width of its 95 % interval, joins taken as independent').nullable(),
      rbar: plain('Mean resultant: 0 no preference, 1 all alike'),
      expected_rbar: plain('The same when finds trade places').nullable(),
      p: p('p: bearings as alike when finds trade places'),
    })
    .nullable(),
  by_class: z.array(
    z.strictObject({
      artefact_class: z.string().nullable().meta({ title: 'Artefact class of both finds; none = unknown' }),
      ...distances,
      p_holm: p('p raised for the number of classes (Holm)'),
    }),
  ),
  between_classes: counted('Joins between finds of two classes'),
  areas: z
    .strictObject({
      areas: z.array(z.strictObject({ area: z.string().meta({ title: 'Area' }), n: counted('Finds') })),
      outside: counted('Finds in none of them'),
      joins: counted('Joins with both finds in an area'),
      joins_across: counted('Of them, joins between two areas'),
      units_across: counted('Pot vessels, or groups of joined finds, that such joins are of'),
      expected_across: plain('Joins across expected when finds trade places').nullable(),
      expected_low: plain('Lower end of its middle 95 %').nullable(),
      expected_high: plain('Upper end').nullable(),
      p_fewer: p('Share of reallocations with as few joins across'),
      p_more: p('Share of reallocations with as many'),
      p_two_sided: p('Twice the smaller, at most 1'),
      class_mix: z
        .strictObject({
          cramers_v: plain('Cramér’s V: 0 the same mix of classes, 1 none in common'),
          chi2: plain('χ² of areas by classes'),
          df: counted('Degrees of freedom'),
          p: p('Share of dealings of class names, pots and concretions whole, with as large a χ²'),
          units: counted('Finds, pots and concretions dealt as wholes'),
          cells: z.array(
            z.strictObject({
              area: z.string().meta({ title: 'Area' }),
              artefact_class: z.string().nullable().meta({ title: 'Artefact class; none = unknown' }),
              n: counted('Finds'),
              expected: plain('Finds expected with the same mix everywhere'),
            }),
          ),
        })
        .nullable()
        .meta({ title: 'Class mix; none = fewer than two areas or classes with finds' }),
    })
    .nullable()
    .meta({ title: 'Joins and class mix across areas; none = not asked for' }),
  across_areas: counted('Joins between separate dug areas'),
  same_place: counted('Joins within one spot or pot vessel that counts as one place'),
});
export type Summary = z.output<typeof result>;
export type Distances = Summary['distances'];
