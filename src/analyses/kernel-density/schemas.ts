import * as z from 'zod';
import { counted, metres, perSquareMetre, plain, squareMetres } from '../../domain/units.js';
import { bandwidthRules } from './bandwidth-rule.js';

export const parameters = z.strictObject({
  bandwidth: z
    .union([z.number().positive(), z.enum(bandwidthRules)])
    .default('scott')
    .meta({
      title: 'Bandwidth',
      description:
        'Standard deviation of the kernel in metres, or a rule: scott, lcv (likelihood cross-validation), lscv (least-squares cross-validation), berman-diggle',
      'x-ogc-unit': 'm',
    }),
  kernel: z.enum(['fixed', 'adaptive']).default('fixed').meta({
    title: 'Kernel',
    description:
      'fixed: all finds smoothed alike; adaptive: less where finds lie thick, more where they are few, about the bandwidth given (Abramson)',
  }),
  per: z.enum(['m2', 'm3']).default('m2').meta({
    title: 'Finds per',
    description:
      'm2: by dug area; m3: by volume of the deposit, which needs levels of its top and bottom and is left blank where the thickness is below three of its errors',
  }),
  edge: z.enum(['none', 'uniform', 'jones-diggle']).default('jones-diggle').meta({
    title: 'Edge correction',
    description: 'Give back what the kernel loses beyond the trench edge: not at all, at each place, or at each find',
  }),
  cell_m: z.number().positive().nullable().default(null).meta({
    title: 'Cell',
    description:
      'Side of the cells of the surface; none = a sixth of the (smallest) bandwidth, at most 512 to the longer side',
    'x-ogc-unit': 'm',
  }),
  contours: z.int().min(1).max(40).default(6).meta({
    title: 'Levels',
    description: 'How many levels at most part the density areas; the step is a round number',
  }),
  at: z
    .array(z.tuple([z.number(), z.number()]))
    .max(10_000)
    .nullable()
    .default(null)
    .meta({
      title: 'Places',
      description: 'Site-grid places [x, y] in metres at which the density is summed in full',
    }),
  level_sigma_m: z.number().min(0).max(10).default(0.03).meta({
    title: 'Error of a level',
    description: 'Standard deviation of level readings that state none; for finds per m³ only',
    'x-ogc-unit': 'm',
  }),
});
export type Parameters = z.output<typeof parameters>;

const perCubicMetre = (title: string) => z.number().meta({ title, 'x-ogc-unit': 'm-3' });
const height = (title: string) => z.number().meta({ title: `${title}, in surface_unit` });

const otherView = z
  .strictObject({
    bandwidth_m: metres('Bandwidth'),
    peak_per_m2: perSquareMetre('Highest density'),
    peaks: counted('Peaks'),
  })
  .nullable();

const counterpart = z
  .strictObject({
    x_m: metres('Place, local_x'),
    y_m: metres('Place, local_y'),
    height: height('Height'),
  })
  .nullable();

export const result = z.strictObject({
  n: counted('Finds used'),
  total_weight: plain('Total weight: finds, pieces, vessels or grams'),
  window_area_m2: squareMetres('Window'),
  bandwidth_m: metres('Bandwidth'),
  bandwidth_rule: z.enum(['metres', ...bandwidthRules]).meta({ title: 'How the bandwidth was chosen' }),
  bandwidth_at_boundary: z.boolean().meta({ title: 'The rule stopped at the end of its range' }),
  kernel: z.enum(['fixed', 'adaptive']).meta({ title: 'Kernel' }),
  adaptive: z
    .strictObject({
      pilot_bandwidth_m: metres('Bandwidth of the pilot, and geometric mean of the kernels'),
      smallest_m: metres('Narrowest kernel'),
      median_m: metres('Middle kernel'),
      largest_m: metres('Widest kernel'),
      capped: counted('Finds whose kernel was held at five times the middle one'),
    })
    .nullable(),
  edge: z.enum(['none', 'uniform', 'jones-diggle']).meta({ title: 'Edge correction' }),
  cell_m: metres('Cell of the surface'),
  surface_unit: z.enum(['m-2', 'm-3']).meta({ title: 'Unit of surface, areas, figure and peaks' }),
  integral: plain('What the surface per m² holds over the window'),
  mean_per_m2: perSquareMetre('Total weight by window area'),
  peak_per_m2: perSquareMetre('Highest density'),
  peak_x_m: metres('Place of the highest density, local_x').nullable(),
  peak_y_m: metres('Place of the highest density, local_y').nullable(),
  peaks: counted('Peaks'),
  half_bandwidth: otherView.meta({ title: 'At half the bandwidth' }),
  double_bandwidth: otherView.meta({ title: 'At double the bandwidth' }),
  peak_list: z
    .array(
      z.strictObject({
        x_m: metres('Place, local_x'),
        y_m: metres('Place, local_y'),
        height: height('Height'),
        half: counterpart.meta({ title: 'Its counterpart at half the bandwidth' }),
        double: counterpart.meta({ title: 'Its counterpart at double the bandwidth' }),
        persists: z.boolean().nullable().meta({ title: 'Has both counterparts; none = half or double was not drawn' }),
      }),
    )
    .meta({ title: 'Peaks, highest first' }),
  volume: z
    .strictObject({
      peak_per_m3: perCubicMetre('Highest density per m³'),
      peak_x_m: metres('Its place, local_x').nullable(),
      peak_y_m: metres('Its place, local_y').nullable(),
      mean_per_m3: perCubicMetre('Finds by volume, where both are known').nullable(),
      volume_m3: z.number().meta({ title: 'Volume of the deposit there', 'x-ogc-unit': 'm3' }),
      area_m2: squareMetres('Area with a thickness of at least three of its errors'),
      thin_area_m2: squareMetres('Area left blank: the thickness is below three of its errors'),
      unknown_area_m2: squareMetres('Area left blank: top or bottom was not levelled'),
      at: z.array(perCubicMetre('Density per m³').nullable()).meta({ title: 'Density per m³ at the places asked' }),
    })
    .nullable()
    .meta({ title: 'Finds per m³' }),
  at: z.array(perSquareMetre('Density').nullable()).meta({ title: 'Density at the places asked' }),
  spread_finds: counted('Finds spread over their square or area'),
  sub_points: counted('Sub-points that stand for them'),
  coincident: counted('Finds that share their position'),
});
export type Summary = z.output<typeof result>;
