import type { Sample } from '../../domain/sample.js';
import { plotNetwork } from '../../figures/network-plot.js';
import type { Scene } from '../../figures/scene.js';
import { type AdjustedSurvey, placedCoordinates } from './adjust-survey.js';
import type { Summary } from './schemas.js';
import { answerLine } from './words.js';

/** Plan of the network: readings as lines, suspects marked, 95 % ellipses enlarged. */
export function networkFigure(summary: Summary, adjusted: AdjustedSurvey, sample: Sample): Scene {
  const { named, parts, solution } = adjusted;
  const { dimension, readings } = named.network;
  const coordinates = placedCoordinates(named, parts, solution.origin);
  const at = (p: number): [number, number] => [coordinates[p * dimension], coordinates[p * dimension + 1]];
  const isPlaced = (p: number) => p >= 0 && Number.isFinite(at(p)[0]);
  const suspects = new Set(adjusted.snooped.suspects.map(({ reading }) => reading));
  return plotNetwork({
    title: 'Survey adjustment: where the points lie, and how well they are known',
    subtitle: answerLine(summary),
    points: named.names.flatMap((name, p) => {
      if (!isPlaced(p)) return [];
      const found = summary.points[name];
      return [{ at: at(p), name, kind: !found ? 'fixed' : found.weak ? 'weak' : 'found' } as const];
    }),
    lines: readings.flatMap((reading, i) =>
      isPlaced(reading.from) && isPlaced(reading.point)
        ? [{ from: at(reading.from), to: at(reading.point), kind: suspects.has(i) ? 'suspect' : 'reading' } as const]
        : [],
    ),
    ellipses: Object.values(summary.points).map((point) => ({
      at: [point.x, point.y] as const,
      semiMajorM: point.ellipse_95.semi_major_m,
      semiMinorM: point.ellipse_95.semi_minor_m,
      azimuthDeg: point.ellipse.azimuth_deg,
    })),
    arrows: [],
    enlargedName: '95 % ellipses',
    notes: [
      `${summary.network.readings} readings, ${summary.network.unknowns} unknown coordinates, adjusted in ${summary.dimensions} dimensions`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
      ...(summary.undetermined.length === 0
        ? []
        : [`not placed: ${summary.undetermined.map(({ name }) => name).join(', ')}`]),
    ],
  });
}
