import { minimalDetectableBias, normalisedResidual } from '../../math/blunder-tests.js';
import { wholeFit } from '../../math/data-snooping.js';
import { chiSquareUpperTail } from '../../math/distributions.js';
import { confidenceFactor, errorEllipse } from '../../math/error-ellipse.js';
import type { PartSolution } from '../../math/network-solution.js';
import type { AdjustedSurvey } from './adjust-survey.js';
import type { Summary } from './schemas.js';
import type { ReadSurvey } from './survey-network.js';

type PointResult = Summary['points'][string];

/** Cuts flatter than this make a weak fix, degrees. @see trade rule: 30° to 120° for detail points */
const flatCutDeg = 30;

/** The numbers of an adjustment, by name and by row. */
export function summaryOf(survey: ReadSurvey, adjusted: AdjustedSurvey): Summary {
  const { named, parts, snooped, solution } = adjusted;
  const { vtpv, redundancy, readings } = wholeFit(parts);
  const varianceFactor = redundancy > 0 ? vtpv / redundancy : null;
  const measurements = measurementRows(survey, adjusted, varianceFactor);
  const points = pointResults(adjusted, { varianceFactor, redundancy, measurements });
  const used = measurements.filter((row) => row.state === 'used');
  const squares = used.reduce((sum, row) => sum + (row.residual ?? 0) ** 2, 0);
  const placed = Object.entries(points);
  const largest = placed.reduce<[string, PointResult] | null>(
    (most, entry) => (most && most[1].ellipse.semi_major_m >= entry[1].ellipse.semi_major_m ? most : entry),
    null,
  );
  return {
    dimensions: named.network.dimension,
    points,
    variance_factor: varianceFactor,
    redundancy,
    measurements,
    mirror: mirrorOf(adjusted),
    undetermined: [...solution.loose]
      .sort(([a], [b]) => a - b)
      .map(([p, reason]) => ({ name: named.names[p], reason })),
    network: {
      found: placed.length,
      fixed: survey.fixedCount,
      readings,
      unknowns: readings - redundancy,
      vtpv,
      global_test_p: redundancy > 0 ? chiSquareUpperTail(vtpv, redundancy) : null,
      rms_residual_m: used.length > 0 ? Math.sqrt(squares / used.length) : null,
      critical_normalised: snooped.critical,
      suspects: measurements.filter((row) => row.suspect).length,
      unchecked: used.filter((row) => row.normalised === null).length,
      mean_position_sigma_m:
        placed.length > 0 ? placed.reduce((sum, [, p]) => sum + Math.hypot(p.sx, p.sy), 0) / placed.length : null,
      largest_ellipse: largest && {
        point: largest[0],
        ...largest[1].ellipse,
        semi_major_95_m: largest[1].ellipse_95.semi_major_m,
      },
    },
  };
}

/** One row for each measurement, in file order. */
function measurementRows(
  survey: ReadSurvey,
  adjusted: AdjustedSurvey,
  varianceFactor: number | null,
): Summary['measurements'] {
  const { named, snooped, causes, solution } = adjusted;
  const scale = varianceFactor !== null && varianceFactor > 0 ? Math.sqrt(varianceFactor) : null;
  const inPart = new Map<number, { readonly solved: PartSolution; readonly k: number }>();
  for (const solved of adjusted.parts)
    for (const [k, i] of solved.part.readings.entries()) inPart.set(named.measurementOf[i], { solved, k });
  const suspectAt = new Map(snooped.suspects.map((suspect, s) => [named.measurementOf[suspect.reading], s]));
  const loose = new Set([...solution.loose.keys()].map((p) => named.names[p]));
  return survey.measurements.map((read, m) => {
    const { measurement } = read;
    const s = suspectAt.get(m);
    const suspect = s === undefined ? null : snooped.suspects[s];
    const base = {
      row: measurement.row,
      from: measurement.from === '' ? null : measurement.from,
      to: measurement.to === '' ? null : measurement.to,
      kind: measurement.kind,
      value: Number.isFinite(measurement.value) ? measurement.value : null,
      reduced: Number.isFinite(named.reduced[m]) ? named.reduced[m] : null,
      sigma: 'reason' in read ? null : read.sigma,
      suspect: suspect !== null,
      error: suspect?.errorM ?? null,
    };
    const nothing = { residual: null, redundancy: null, normalised: null, tau: null, mdb: null };
    const reason = named.reason[m];
    if (reason !== null) {
      const state = 'reason' in read ? ('set_aside' as const) : ('not_used' as const);
      return { ...base, state, ...nothing, cause: reason };
    }
    const at = inPart.get(m);
    if (!at) {
      if (suspect && s !== undefined)
        return { ...base, state: 'set_aside', ...nothing, residual: -suspect.errorM, cause: causes[s] };
      const ends =
        'reason' in read ? [] : [read.from, read.second, read.point].filter((name) => name !== null && loose.has(name));
      return {
        ...base,
        state: 'not_used',
        ...nothing,
        cause: `${ends.join(', ') || 'a point of it'} cannot be placed`,
      };
    }
    const { precision, part } = at.solved;
    const { sigma } = part.network.readings[at.k];
    const residual = precision.residual[at.k];
    const share = precision.redundancyNumber[at.k];
    const normalised = normalisedResidual(residual, sigma, share);
    return {
      ...base,
      state: 'used',
      residual,
      redundancy: share,
      normalised,
      tau: normalised === null || scale === null ? null : normalised / scale,
      mdb: minimalDetectableBias(sigma, share),
      cause: s === undefined ? null : causes[s],
    };
  });
}

function pointResults(
  adjusted: AdjustedSurvey,
  fit: {
    readonly varianceFactor: number | null;
    readonly redundancy: number;
    readonly measurements: Summary['measurements'];
  },
): Record<string, PointResult> {
  const { named, parts, solution, bestCutDeg } = adjusted;
  const { dimension, fixed } = named.network;
  const prior = confidenceFactor(0.95, null) as number;
  const posteriorFactor = confidenceFactor(0.95, fit.redundancy);
  const posterior =
    posteriorFactor === null || fit.varianceFactor === null ? null : posteriorFactor * Math.sqrt(fit.varianceFactor);
  const found: [number, PointResult][] = [];
  for (const { part, coordinates, precision } of parts) {
    const checked = partIsChecked(precision.redundancyNumber);
    part.points.forEach((p, k) => {
      if (fixed[p] === 1) return;
      const u = precision.unknownOf[k];
      const q = (i: number, j: number) => precision.cofactor[(u + i) * precision.unknowns + u + j];
      const ellipse = errorEllipse({ xx: q(0, 0), yy: q(1, 1), xy: q(0, 1) });
      const at = (d: number) => solution.origin[d] + coordinates[k * dimension + d];
      const axes = (factor: number) => ({
        semi_major_m: factor * ellipse.semiMajorM,
        semi_minor_m: factor * ellipse.semiMinorM,
      });
      const cut = bestCutDeg[p];
      found.push([
        p,
        {
          x: at(0),
          y: at(1),
          ...(dimension === 3 ? { z: at(2) } : {}),
          sx: Math.sqrt(q(0, 0)),
          sy: Math.sqrt(q(1, 1)),
          ...(dimension === 3 ? { sz: Math.sqrt(q(2, 2)) } : {}),
          ellipse: { ...axes(1), azimuth_deg: ellipse.azimuthDeg },
          ellipse_95: axes(prior),
          ellipse_95_a_posteriori: posterior === null ? null : axes(posterior),
          readings: part.network.readings.filter((reading) => [reading.from, reading.second, reading.point].includes(k))
            .length,
          best_cut_deg: Number.isNaN(cut) ? null : cut,
          weak: !checked(part, k) || cut < flatCutDeg,
        },
      ]);
    });
  }
  found.sort(([a], [b]) => a - b);
  return Object.fromEntries(found.map(([p, result]) => [named.names[p], result]));
}

/** Whether some reading of a point would show an error of its own. */
function partIsChecked(redundancyNumber: Float64Array) {
  return (part: PartSolution['part'], k: number) =>
    part.network.readings.some(
      (reading, i) => [reading.from, reading.second, reading.point].includes(k) && redundancyNumber[i] > 0.05,
    );
}

function mirrorOf(adjusted: AdjustedSurvey): Summary['mirror'] {
  const { named, parts, solution } = adjusted;
  const { dimension, fixed } = named.network;
  const points: Record<string, { x: number; y: number; z?: number }> = {};
  let isLed = false;
  for (const { part, coordinates, mirror } of parts) {
    if (!mirror) continue;
    part.points.forEach((p, k) => {
      const place = (from: Float64Array, d: number) => from[k * dimension + d];
      let moved = 0;
      for (let d = 0; d < dimension; d++) moved = Math.max(moved, Math.abs(place(mirror, d) - place(coordinates, d)));
      if (fixed[p] === 1 || moved <= 1e-4) return;
      isLed ||= Number.isFinite(named.coordinates[p * dimension]);
      points[named.names[p]] = {
        x: solution.origin[0] + place(mirror, 0),
        y: solution.origin[1] + place(mirror, 1),
        ...(dimension === 3 ? { z: solution.origin[2] + place(mirror, 2) } : {}),
      };
    });
  }
  return Object.keys(points).length === 0 ? null : { points, chosen_by: isLed ? 'start' : 'rule' };
}
