import * as z from 'zod';
import { counted, metres, plain, squareMetres } from '../../domain/units.js';

const cubicMetres = (title: string) => z.number().meta({ title, 'x-ogc-unit': 'm3' });

export const parameters = z.strictObject({
  surface: z
    .enum(['seabed_before', 'deposit_top', 'deposit_bottom', 'excavation_limit', 'hard_substrate'])
    .default('deposit_top')
    .meta({ title: 'Surface', description: 'The surface compared with itself' }),
  from_season: z.string().nullable().default(null).meta({
    title: 'Earlier season',
    description: 'none = of the pairs of seasons the one with most common nodes',
  }),
  to_season: z.string().nullable().default(null).meta({
    title: 'Later season',
    description: 'none = of the pairs of seasons the one with most common nodes',
  }),
  from_state: z.string().nullable().default(null).meta({
    title: 'State at the earlier time',
    description: 'Only levels of this state (undisturbed, after_dig …); none = all',
  }),
  to_state: z.string().nullable().default(null).meta({
    title: 'State at the later time',
    description: 'Only levels of this state; none = all',
  }),
  confidence: z.number().min(0.5).max(0.9999).default(0.95).meta({
    title: 'Confidence',
    description: 'Share of chance differences that stay inside the level of detection',
    'x-ogc-unit': '1',
  }),
  sigma_random_m: z.number().min(0).max(10).nullable().default(null).meta({
    title: 'Random error of a level',
    description: 'Standard deviation of one reading; none = as each reading states, 0.03 m where it states none',
    'x-ogc-unit': 'm',
  }),
  sigma_shared_m: z.number().min(0).max(10).default(0.03).meta({
    title: 'Shared error',
    description: 'Standard deviation of a shift of all levels of one time against the other (datum, tide)',
    'x-ogc-unit': 'm',
  }),
  stable_shift: z.enum(['report', 'remove']).default('report').meta({
    title: 'Shift of stable nodes',
    description:
      'report the median difference of nodes outside the dug area, or take it off first and use its error as the shared one',
  }),
});
export type Parameters = z.output<typeof parameters>;

const side = z.strictObject({
  nodes: counted('Nodes'),
  area_m2: squareMetres('Area'),
  volume_m3: cubicMetres('Volume'),
  sigma_m3: cubicMetres('Error of the volume'),
});

export const result = z.strictObject({
  n: counted('Common nodes'),
  surface: z.string().meta({ title: 'Surface' }),
  from_season: z.string().meta({ title: 'Earlier season' }),
  to_season: z.string().meta({ title: 'Later season' }),
  read_between: counted('Common nodes where the later surface was read between its nodes'),
  stable: z
    .strictObject({
      nodes: counted('Common nodes outside the dug area'),
      median_m: metres('Their median difference'),
      sigma_m: metres('Standard error of the median'),
      is_shifted: z.boolean().meta({ title: 'Further off zero than its error explains' }),
    })
    .nullable()
    .meta({ title: 'Common-point check' }),
  removed_shift_m: metres('Shift taken off first'),
  mean_difference_m: metres('Mean difference, later less earlier'),
  median_difference_m: metres('Median difference'),
  level_of_detection_m: metres('Median level of detection'),
  confidence: plain('Confidence'),
  sigma_shared_m: metres('Shared error used'),
  significant_nodes: counted('Nodes with a change beyond the level of detection'),
  expected_by_chance: plain('Nodes expected beyond it if nothing had changed and errors were independent'),
  compared_m2: squareMetres('Area of squares with four common nodes'),
  raised: side.meta({ title: 'Significant rise' }),
  lowered: side.meta({ title: 'Significant fall' }),
  net_significant_m3: cubicMetres('Significant change, rise less fall'),
  net_m3: cubicMetres('All change, inside the level of detection too'),
  sigma_random_m3: cubicMetres('Random error of all change'),
  sigma_shared_m3: cubicMetres('Shared error of all change'),
  sigma_m3: cubicMetres('Both errors of all change'),
});
export type Summary = z.output<typeof result>;
