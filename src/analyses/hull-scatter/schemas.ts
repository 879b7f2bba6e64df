import * as z from 'zod';
import { counted, metres, perMetre, perSquareMetre, plain, squareMetres } from '../../domain/units.js';

/** Own inputs of hull-scatter. */
export const parameters = z.strictObject({
  timbers: z.enum(['in_place', 'all']).default('in_place').meta({
    title: 'Hull features used',
    description: 'in_place: articulated and not displaced (unknown counts as such); all: loose and displaced ones too',
  }),
  distance: z.enum(['nearest', 'outline', 'axis', 'trench_edge']).default('nearest').meta({
    title: 'Distance to',
    description:
      'nearest: the nearest hull feature; outline: the outline of the hull areas, negative inside; axis: the ship axis, a straight line without ends; trench_edge: the edge of the dug area, no hull needed (are squares at the edge still rich?)',
  }),
  elements: z.array(z.string()).nullable().default(null).meta({
    title: 'Hull elements',
    description: 'Only these, such as keelson or frame; none = all',
  }),
  outline: z.enum(['surviving', 'projected', 'any']).default('any').meta({
    title: 'Outline',
    description: 'surviving: hull that was seen; projected: where it is thought to have been',
  }),
  line: z.tuple([z.number(), z.number(), z.number()]).nullable().default(null).meta({
    title: 'Line instead of the hull',
    description: 'a, b, c of a x + b y + c = 0 in site-grid metres: distances are measured to this straight line',
  }),
  bands: z.array(z.number()).default([0, 0.5, 1, 2, 4, 8]).meta({
    title: 'Distance bands',
    description: 'Limits in metres, rising; what lies beyond the last gets a band of its own',
    'x-ogc-unit': 'm',
  }),
  keel_step: z.number().min(0.1).max(100).default(1).meta({
    title: 'Step along the keel',
    description: 'Finds along the keel are counted in steps of so many metres',
    'x-ogc-unit': 'm',
  }),
  side: z.enum(['if_known', 'required']).default('if_known').meta({
    title: 'Port and starboard',
    description: 'required: refuse when it is not known which end is the bow; if_known: leave the sides out then',
  }),
});

const spread = (what: string) =>
  z.strictObject({
    min: metres(`Smallest ${what}`).nullable(),
    q25: metres(`Lower quartile of ${what}`).nullable(),
    median: metres(`Median ${what}`).nullable(),
    q75: metres(`Upper quartile of ${what}`).nullable(),
    max: metres(`Largest ${what}`).nullable(),
  });

const probability = (title: string) => plain(title).nullable();

const group = (title: string) =>
  z.strictObject({ name: z.string().nullable().meta({ title }), n: counted('Finds'), ...spread('distance').shape });

const ratio = {
  rate_ratio: plain('Finds per m² on the first ground over those on the second').nullable(),
  low: plain('95 % interval from').nullable(),
  high: plain('95 % interval to; none = no upper end').nullable(),
  p: probability('Probability of a split as uneven when both are equally rich'),
};

/** What hull-scatter answers. */
export const result = z.strictObject({
  n: counted('Finds used'),
  window_area_m2: squareMetres('Dug area'),
  hull_features: counted('Hull features used'),
  hull_features_left_out: counted('Hull features left out: loose, displaced or not chosen'),
  distance_m: spread('distance to the hull as chosen').meta({ title: 'Distances, as chosen by `distance` or `line`' }),
  signed_distance_m: spread('distance to the outline of hull areas, negative inside').nullable(),
  along_keel_m: spread('distance from the after end along the axis').nullable(),
  off_keel_m: spread('distance off the axis, positive to port').nullable(),
  expected_median_m: metres('Median distance of the dug ground'),
  expected_mean_m: metres('Mean distance of the dug ground'),
  f0_bound: plain('Largest possible error of a share of dug ground; 0 = exact'),
  ks: z.strictObject({
    d: plain('Largest gap between the shares of finds and of dug ground').nullable(),
    p: probability('Exact probability of such a gap by chance'),
  }),
  berman: z.strictObject({
    z1: plain('Berman Z1: below 0 nearer than chance; number of finds taken as random').nullable(),
    p1: probability('Two-sided probability of Z1'),
    z1_conditional: plain('Berman Z1 with the number of finds held fixed').nullable(),
    p1_conditional: probability('Two-sided probability of the conditional Z1'),
    z2: plain('Berman Z2: below 0 nearer than chance').nullable(),
    p2: probability('Two-sided probability of Z2'),
  }),
  simulated: z
    .strictObject({
      p_closer: plain('Share of random scatters with a mean as small'),
      p_farther: plain('Share of random scatters with a mean as large'),
      p_two_sided: plain('Two-sided probability'),
      simulations: counted('Random scatters in the dug area'),
    })
    .nullable(),
  against_others: z
    .strictObject({
      median_difference_m: metres('Median distance of the finds chosen less that of all others'),
      p_closer: probability('Share of deals of the names with a mean as small'),
      p_farther: probability('Share of deals of the names with a mean as large'),
      p_two_sided: probability('Two-sided probability'),
      others: counted('Other finds'),
    })
    .nullable(),
  nearer_to_edge: counted('Finds nearer to the edge of the dug area than to the hull'),
  inside_hull: counted('Finds inside hull areas').nullable(),
  in_out: z
    .strictObject({
      inside_n: counted('Finds inside hull areas'),
      inside_area_m2: squareMetres('Dug ground inside hull areas'),
      outside_n: counted('Finds outside'),
      outside_area_m2: squareMetres('Dug ground outside'),
      ...ratio,
    })
    .nullable()
    .meta({ title: 'Inside against outside the hull areas' }),
  side: z
    .strictObject({
      port: counted('Finds to port of the axis'),
      starboard: counted('Finds to starboard'),
      on_axis: counted('Finds on the axis'),
      port_area_m2: squareMetres('Dug ground to port'),
      starboard_area_m2: squareMetres('Dug ground to starboard'),
      ...ratio,
    })
    .nullable()
    .meta({ title: 'Port against starboard' }),
  side_reason: z.string().nullable().meta({ title: 'Why the sides are left out' }),
  bands: z.array(
    z.strictObject({
      from_m: metres('From').nullable(),
      to_m: metres('To, not included').nullable(),
      area_m2: squareMetres('Dug ground in the band'),
      n: counted('Finds'),
      per_m2: perSquareMetre('Finds per m²').nullable(),
      rate_ratio: plain('Finds per m² over those in the rest of the dug area').nullable(),
    }),
  ),
  trench_edge: z
    .strictObject({
      times_per_m: plain(
        'Times as many finds per m² for each metre further in: below 1 richer towards the edge',
      ).nullable(),
      low: plain('Lower end of its 95 % interval').nullable(),
      high: plain('Upper end').nullable(),
      doubling_m: metres('Distance over which finds per m² double or halve').nullable(),
      squares: z.array(
        z.strictObject({
          square: z.string().meta({ title: 'Square at the edge' }),
          n: counted('Finds'),
          dug_m2: squareMetres('Ground dug'),
          per_m2: perSquareMetre('Finds per m²'),
          rate_ratio: plain('Finds per m² over those on all other dug ground').nullable(),
          low: plain('95 % interval from').nullable(),
          high: plain('95 % interval to; none = no upper end').nullable(),
        }),
      ),
    })
    .nullable()
    .meta({ title: 'Richness towards the edge of the dug area; none = another distance was asked for' }),
  along_keel: z
    .array(
      z.strictObject({
        from_m: metres('Along the axis from the after end, from'),
        to_m: metres('To, not included'),
        n: counted('Finds'),
        area_m2: squareMetres('Dug ground abreast of the step'),
        dug_length_m: metres('Length of the step with dug ground abreast'),
        per_m2: perSquareMetre('Finds per m²').nullable(),
        low: perSquareMetre('95 % interval from').nullable(),
        high: perSquareMetre('95 % interval to').nullable(),
        per_m_dug: perMetre('Finds for each metre of dug length').nullable(),
      }),
    )
    .nullable()
    .meta({ title: 'Finds along the keel, held to the ground dug abreast' }),
  zones: z
    .array(
      z.strictObject({
        zone: z.string().nullable().meta({ title: 'Zone of the ship; none = outside all zones' }),
        n: counted('Finds'),
        area_m2: squareMetres('Dug ground in the zone'),
        per_m2: perSquareMetre('Finds per m²').nullable(),
        low: perSquareMetre('95 % interval from').nullable(),
        high: perSquareMetre('95 % interval to').nullable(),
        rate_ratio: plain('Finds per m² over those on all other dug ground').nullable(),
        ratio_low: plain('95 % interval from').nullable(),
        ratio_high: plain('95 % interval to; none = no upper end').nullable(),
        p: probability('Exact probability of a split as uneven'),
      }),
    )
    .nullable()
    .meta({ title: 'Zones of the ship' }),
  zones_by_class: z
    .strictObject({
      classes: z.array(z.string().nullable()).meta({ title: 'Artefact classes; none = unknown' }),
      zones: z.array(z.string().nullable()).meta({ title: 'Zones with finds; none = outside all zones' }),
      counts: z.array(z.array(counted('Finds'))).meta({ title: 'Finds by zone and class' }),
      chi2: plain('χ² of the table'),
      p: probability('Share of deals of the class names with a χ² as large'),
      units: counted('Finds, pots and concretions dealt as wholes'),
      cells: z.array(
        z.strictObject({
          zone: z.string().nullable().meta({ title: 'Zone' }),
          artefact_class: z.string().nullable().meta({ title: 'Artefact class' }),
          n: counted('Finds'),
          expected: plain('Finds expected when names are dealt out'),
          departure: plain('Departure in standard deviations of the deals').nullable(),
          p: probability('Two-sided probability'),
          p_holm: probability('The same allowing for all cells (Holm)'),
        }),
      ),
    })
    .nullable()
    .meta({ title: 'Do some classes keep to some zones?' }),
  seasons: z
    .array(
      z.strictObject({
        season: z.string().meta({ title: 'Season' }),
        n: counted('Finds'),
        area_m2: squareMetres('Ground dug in the season'),
        median_m: metres('Median distance').nullable(),
        expected_median_m: metres('Median distance of the ground this season dug'),
        d: plain('Largest gap between both shares').nullable(),
        p: probability('Exact probability of such a gap by chance'),
      }),
    )
    .nullable()
    .meta({ title: 'Seasons side by side, each against its own ground' }),
  by_class: z.array(group('Artefact class')).nullable().meta({ title: 'By class, when there are several' }),
  by_season: z.array(group('Season')).nullable().meta({ title: 'By season, when there are several' }),
});

export type Parameters = z.output<typeof parameters>;
export type Summary = z.output<typeof result>;
