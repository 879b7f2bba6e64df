import { type Question, shown } from './question.js';

const jars = { artefact_class: ['stoneware jar'] };
const ship = 'The ship';
const pots = 'Joins and pots';

/** Questions of the ship, of pots and of joins. */
export const shipQuestions: readonly Question[] = [
  {
    number: 24,
    group: ship,
    words: 'Are finds closer to the hull than chance?',
    process: 'hull-scatter',
    inputs: { artefact_class: ['copper-alloy spike'] },
    result: (s) =>
      `median distance ${shown(s.distance_m.median)} m, of the dug ground ${shown(s.expected_median_m)} m; p = ${shown(s.simulated?.p_two_sided, 1)}, ${s.n} finds`,
  },
  {
    number: 25,
    group: ship,
    words: 'Inside or outside the hull?',
    process: 'hull-scatter',
    inputs: { artefact_class: ['copper-alloy spike'] },
    result: (s) =>
      s.in_out === null
        ? 'no hull areas'
        : `${shown(s.in_out.rate_ratio)} times as many finds per m² inside as outside (${shown(s.in_out.low)} to ${shown(s.in_out.high)}), ${s.in_out.inside_n} and ${s.in_out.outside_n} finds`,
  },
  {
    number: 26,
    group: ship,
    words: 'Port or starboard?',
    process: 'hull-scatter',
    inputs: jars,
    result: (s) =>
      s.side === null
        ? String(s.side_reason)
        : `port against starboard ${shown(s.side.rate_ratio)} times as many per m² (${shown(s.side.low)} to ${shown(s.side.high)}), p = ${shown(s.side.p, 1)}, ${s.side.port} and ${s.side.starboard} finds`,
  },
  {
    number: 27,
    group: ship,
    words: 'Where along the ship is each class?',
    process: 'hull-scatter',
    inputs: { artefact_class: ['hearth brick'] },
    result: (s) =>
      `half of the ${s.n} finds lie ${shown(s.along_keel_m?.q25)} to ${shown(s.along_keel_m?.q75)} m from the after end of the axis`,
  },
  {
    number: 28,
    group: ship,
    words: 'Galley, stern cabin, hold: is a zone marked?',
    process: 'hull-scatter',
    inputs: {},
    result: (s) =>
      s.zones_by_class === null
        ? 'no zones'
        : `classes keep to zones: χ² ${shown(s.zones_by_class.chi2, 4)}, p = ${shown(s.zones_by_class.p, 1)}, ${s.zones_by_class.units} units in ${s.zones_by_class.zones.length} zones`,
  },
  {
    number: 29,
    group: ship,
    words: 'Which way did the cargo spill?',
    process: 'directional-distribution',
    inputs: jars,
    result: (s) =>
      s.offset === null
        ? 'no other finds'
        : `centre ${shown(s.offset.shift_m)} m from that of all finds, towards ${shown(s.offset.shift_bearing_deg)}° from site_north (p = ${shown(s.offset.p_shift, 1)}); longer axis of the ellipse ${shown(s.ellipse?.bearing_deg)}°`,
  },
  {
    number: 30,
    group: ship,
    words: 'Do finds lie downslope of the hull?',
    process: 'directional-distribution',
    inputs: jars,
    result: (s) =>
      s.offset === null || s.slope === null
        ? 'no slope'
        : `${shown(s.offset.downslope_m)} m down the slope (all finds ${shown(s.offset.expected_downslope_m)} m), p = ${shown(s.offset.p_downslope, 1)}`,
  },
  {
    number: 31,
    group: ship,
    words: 'Are long objects aligned?',
    process: 'directional-distribution',
    inputs: { artefact_class: ['iron bar'] },
  },
  { number: 32, group: pots, words: 'How far did sherds of one pot travel?', process: 'refit-distances', inputs: {} },
  {
    number: 33,
    group: pots,
    words: 'Are the two scatter areas one ship?',
    process: 'refit-distances',
    inputs: { areas: 'dug_parts' },
  },
  {
    number: 34,
    group: pots,
    words: 'How many jars?',
    process: 'class-table',
    inputs: jars,
    result: (s) =>
      `${s.vessels.minimum} to ${s.vessels.maximum} pots (${s.vessels.met} met, ${shown(s.vessels.rim_equivalents)} rims' worth) from ${s.n} sherds`,
  },
  {
    number: 35,
    group: pots,
    words: 'Where are the jars, not the fragments?',
    process: 'kernel-density',
    inputs: { ...jars, count_unit: 'pot_vessel' },
    result: (s) =>
      `highest ${shown(s.peak_per_m2)} pots per m² at a bandwidth of ${shown(s.bandwidth_m)} m, ${shown(s.integral, 4)} pots in all`,
  },
  {
    number: 36,
    group: pots,
    words: 'Is breakage worse in one place?',
    process: 'local-autocorrelation',
    inputs: { ...jars, value: 'sherds_per_vessel' },
  },
];
