import * as z from 'zod';
import { counted, degrees, metres, plain } from '../../domain/units.js';

const surfaces = [
  'seabed_before',
  'deposit_top',
  'deposit_bottom',
  'excavation_limit',
  'hard_substrate',
  'thickness',
] as const;

export const parameters = z.strictObject({
  surface: z.enum(surfaces).default('deposit_top').meta({
    title: 'Surface',
    description: 'Which levels: a levelled surface, or thickness (deposit_top less deposit_bottom, node by node)',
  }),
  order: z.int().min(1).max(3).default(1).meta({
    title: 'Order',
    description: 'Of the polynomial whose residuals are shown: 1 a plane, 2 or 3 a curved surface',
  }),
  node_value: z.enum(['newest', 'mean']).default('newest').meta({
    title: 'Several seasons at a node',
    description: 'Take the newest of the seasons chosen, or the mean of all of them',
  }),
  shared_sigma_m: z.number().min(0).nullable().default(null).meta({
    title: 'Shared error of a season',
    description:
      'Standard deviation of what shifts all levels of one season (datum, tide); none = estimated from the shifts between seasons',
    'x-ogc-unit': 'm',
  }),
});
export type Parameters = z.output<typeof parameters>;

const angle = (title: string) => degrees(title).nullable();

export const result = z.strictObject({
  n: counted('Nodes used'),
  surface: z.enum(surfaces).meta({ title: 'Surface' }),
  order: z.int().meta({ title: 'Order of the trend shown' }),
  node_value: z.enum(['newest', 'mean']).meta({ title: 'Several seasons at a node' }),
  seasons: z.array(z.string()).meta({ title: 'Seasons of the levels used; empty text = not named' }),
  dip_deg: degrees('Dip of the plane'),
  dip_low_deg: angle('Dip, lower end of the 95 % interval, random error'),
  dip_high_deg: angle('Dip, upper end'),
  se_dip_deg: angle('Standard error of the dip, random error'),
  direction_deg: angle('Downslope direction, clockwise from site_north; none = withheld'),
  direction_from_map_grid_north_deg: angle('Downslope direction, clockwise from map_grid_north'),
  se_direction_deg: angle('Standard error of the direction, random error'),
  direction_withheld: z.string().nullable().meta({ title: 'Why no direction is given' }),
  slope_x: plain('Rise per metre along local_x'),
  slope_y: plain('Rise per metre along local_y'),
  level_at_centre_m: metres('Level of the plane at the centre of the nodes'),
  centre_x_m: metres('Centre of the nodes, local_x'),
  centre_y_m: metres('Centre of the nodes, local_y'),
  season_error: z
    .strictObject({
      shared_sigma_m: metres('Standard deviation of a season’s shared error'),
      estimated: z.boolean().meta({ title: 'Estimated from these levels' }),
      se_dip_deg: angle('Standard error of the dip, random and season errors'),
      se_direction_deg: angle('Standard error of the direction, random and season errors'),
      shifts: z.array(
        z.strictObject({
          season: z.string().meta({ title: 'Season' }),
          n: plain('Nodes of the season; a mean of seasons counts in parts'),
          shift_m: metres('Shift against the mean of all seasons'),
          se_m: metres('Its standard error'),
        }),
      ),
    })
    .nullable(),
  robust: z
    .strictObject({
      dip_deg: degrees('Dip'),
      direction_deg: angle('Downslope direction, clockwise from site_north; none = withheld'),
      scale_m: metres('Robust standard deviation of the residuals'),
      constant: plain("Constant of Tukey's biweight"),
      nodes_without_weight: counted('Nodes that do not count at all'),
      nodes_half_weight: counted('Nodes that count less than half'),
    })
    .nullable(),
  residual_sd_m: metres('Residual standard deviation of the trend shown').nullable(),
  r_squared: plain('R² of the trend shown').nullable(),
  largest_residual_m: metres('Largest residual of the trend shown'),
  largest_residual_node: z.string().nullable().meta({ title: 'Its node' }),
  orders: z.array(
    z.strictObject({
      order: z.int().meta({ title: 'Order' }),
      r_squared: plain('R²').nullable(),
      f: plain('F against a level plane').nullable(),
      p: plain('p of it').nullable(),
      f_increase: plain('F against the order before').nullable(),
      p_increase: plain('p of it').nullable(),
      degrees_of_freedom: counted('Degrees of freedom of the residuals'),
    }),
  ),
  tests: counted('F tests made'),
});
export type Summary = z.output<typeof result>;
