import type { Sample } from '../../domain/sample.js';
import type { AdjustedSurvey } from './adjust-survey.js';
import type { Parameters, Summary } from './schemas.js';
import { listed, type ReadSurvey } from './survey-network.js';

/** What the sentences speak about beside the summary. */
export interface Context {
  readonly sample: Sample;
  readonly survey: ReadSurvey;
  readonly adjusted: AdjustedSurvey;
  readonly own: Parameters;
}

const shown = (value: number | null, digits = 3): string =>
  value === null ? 'not known' : String(Number(value.toPrecision(digits)));
const many = (count: number, one: string, several = `${one}s`) => `${count} ${count === 1 ? one : several}`;

/** The paragraph for a methods section. */
export function methodsOf(summary: Summary, context: Context): string {
  const { own, survey, sample } = context;
  const { network } = summary;
  const alpha = own.alpha ?? (own.test === 'baarda' ? 0.001 : 0.05);
  const reduced = summary.measurements.filter((row, m) => {
    const read = survey.measurements[m];
    return !('reason' in read) && read.kind === 'distance' && row.reduced !== null && row.reduced !== read.value;
  }).length;
  const tides = survey.measurements.filter((read) => !('reason' in read) && read.tideM !== null).length;
  return [
    `Least-squares adjustment in ${summary.dimensions === 3 ? 'space' : 'plan'} of ${many(network.readings, 'reading')} (weights 1/σ²) to ${many(network.found, 'point')}, ${many(network.fixed, 'control point')} held fixed and their own errors not carried on; Newton and Gauss–Newton steps (Levenberg 1944, Marquardt 1963) in coordinates reduced to the middle of the control; start values ${own.start ? 'as given' : 'from crossing tapes, offsets and heights, and from listed places of detail points'}.`,
    'Residuals are adjusted less observed; redundancy numbers r_i = (Q_vv P)_ii, normalised residuals v / (σ √r_i), smallest error found with 80 % probability 4.13 σ / √r_i (Baarda 1968).',
    own.test === 'baarda'
      ? `Suspect: normalised residual beyond ${shown(network.critical_normalised)} (Baarda 1968, α = ${alpha}), the stated sigmas trusted; taken out one by one, each time after trying which of the likely readings heals the fit.`
      : `Suspect: tau beyond ${shown(network.critical_normalised)} (Pope 1976, α = ${alpha}), the variance factor estimated; taken out one by one.`,
    own.suspects === 'set_aside'
      ? 'Positions, residuals and variance factor are those without the suspects that could be told apart.'
      : 'Positions, residuals and variance factor are those of all readings, suspects included.',
    'Ellipses: half axes from the cofactors with the sigmas trusted, 95 % with the factor 2.4477; a posteriori with √(2 F(2, r)) and the estimated variance factor (Mikhail & Gracie 1981).',
    reduced > 0 ? `${many(reduced, 'tape')} reduced from slope to horizontal with the elevations of both ends.` : '',
    tides > 0
      ? `${many(tides, 'depth')} reduced for tide, z = raw − [(S − R) + (E − S)(t − t0)/(t1 − t0)], depths down-positive, times universal.`
      : '',
    'Depths are down-positive metres, elevations and vertical offsets up-positive; offsets from a baseline are positive to the left of its start → end.',
    `No finds and no window enter (dug area here: ${shown(sample.windowAreaM2, 8)} m²).`,
  ]
    .filter((sentence) => sentence !== '')
    .join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(summary: Summary, context: Context): string[] {
  const { survey, adjusted, own } = context;
  const { network } = summary;
  const cautions = [
    'This is a proposal: no reading and no position of the record was changed. Accept it by importing the new positions as a new data version.',
  ];
  if (adjusted.planReason && summary.dimensions === 2) cautions.push(`Adjusted in plan: ${adjusted.planReason}.`);
  if (survey.repeated.length > 0)
    cautions.push(
      `Control lists several seasons for ${listed(survey.repeated)}; the first place is used. See grid-fit for the shift between seasons.`,
    );
  if (summary.undetermined.length > 0)
    cautions.push(`Not placed: ${summary.undetermined.map(({ name, reason }) => `${name} (${reason})`).join('; ')}.`);
  if (summary.redundancy === 0)
    cautions.push('Nothing is redundant: residuals are 0 whatever the errors, and no gross error can be seen.');
  else if (network.unchecked > 0)
    cautions.push(
      `${many(network.unchecked, 'reading')} of ${network.readings} are checked by no other: a gross error there moves the point and shows nowhere.`,
    );
  cautions.push(...mirrorCautions(summary, adjusted));
  const suspects = summary.measurements.filter((row) => row.suspect);
  if (suspects.length > 0) {
    const rows = suspects.map((row) => row.row).join(', ');
    cautions.push(
      `${many(suspects.length, 'suspect reading')}, rows ${rows}: ${own.suspects === 'keep' ? 'they still pull the positions given here; look at the causes, measure again, or run with suspects = set_aside' : 'those that could be told apart were taken out'}. Errors that agree with each other stay hidden.`,
    );
  }
  const p = network.global_test_p;
  if (p !== null && (p < 0.025 || p > 0.975) && suspects.length === 0)
    cautions.push(
      `The variance factor ${shown(summary.variance_factor)} does not fit the stated sigmas (p = ${shown(p)}): they are ${p < 0.5 ? 'too small, or a gross error is spread over many readings' : 'too large'}.`,
    );
  const weak = Object.entries(summary.points).filter(([, point]) => point.weak);
  if (weak.length > 0)
    cautions.push(
      `To be measured again (tapes that cut at less than 30°, or nothing that checks them): ${listed(weak.map(([name]) => name))}.`,
    );
  const assumed = survey.measurements.filter((read) => !('reason' in read) && read.isSigmaAssumed).length;
  if (assumed > 0) cautions.push(`${many(assumed, 'reading')} state no sigma; ${own.sigma_m} m is assumed.`);
  const aside = summary.measurements.filter((row) => row.state === 'set_aside' && !row.suspect);
  if (aside.length > 0)
    cautions.push(
      `${many(aside.length, 'measurement')} set aside: ${aside
        .slice(0, 6)
        .map((row) => `row ${row.row}, ${row.cause}`)
        .join('; ')}${aside.length > 6 ? '; …' : ''}.`,
    );
  return cautions;
}

function mirrorCautions(summary: Summary, adjusted: AdjustedSurvey): string[] {
  const cautions: string[] = [];
  if (summary.mirror) {
    const names = Object.keys(summary.mirror.points);
    cautions.push(
      summary.mirror.chosen_by === 'start'
        ? `${listed(names)} would fit as well in another place (see mirror); the approximate positions decided.`
        : `${listed(names)} would fit as well in another place (see mirror): control in one line or plane, or too few tapes. The place ${summary.dimensions === 3 ? 'higher, else ' : ''}left of the first → last control point was taken; add an approximate position or one more reading.`,
    );
  }
  const nameOf = (points: readonly number[]) =>
    points.filter((p) => adjusted.named.network.fixed[p] === 0).map((p) => adjusted.named.names[p]);
  for (const { part, vtpv, nextVtpv, passedVtpv } of adjusted.parts) {
    const names = listed(nameOf(part.points));
    if (nextVtpv !== null && nextVtpv - vtpv < 10.83)
      cautions.push(
        `${names}: a second place fits nearly as well (vᵀPv ${shown(nextVtpv)} against ${shown(vtpv)}); an approximate position would decide.`,
      );
    if (passedVtpv !== null)
      cautions.push(
        `${names}: the start values lead to vᵀPv ${shown(vtpv)}, another place has ${shown(passedVtpv)}; check the start values.`,
      );
  }
  return cautions;
}

/** The answer in one line, for the drawing. */
export function answerLine(summary: Summary): string {
  const { network } = summary;
  const factor =
    summary.variance_factor === null
      ? 'nothing redundant'
      : `variance factor ${shown(summary.variance_factor)}, redundancy ${summary.redundancy}`;
  const doubt = network.suspects === 0 ? 'no suspect reading' : many(network.suspects, 'suspect reading');
  return `${many(network.found, 'point')} from ${many(network.readings, 'reading')}: ${factor}, ${doubt}`;
}
