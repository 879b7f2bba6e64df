import type { Analysis, CommonInputs, ComparedState } from '../analyses/contract.js';
import { analysisOf, executeAnalysis, type RunAnswer } from '../analyses/execute.js';
import { checkInputs } from '../analyses/inputs.js';
import { knownClasses } from '../domain/known-classes.js';
import { makeSample } from '../domain/make-sample.js';
import type { Sample } from '../domain/sample.js';
import type { Survey } from '../domain/survey.js';
import { polygonsRegion } from '../math/overlay.js';
import type { Region } from '../math/rings.js';
import { Problem } from '../problems.js';
import { filterOfFinds } from './find-filter.js';
import type { SurveyShelf } from './survey-shelf.js';

/** One run as it is handed to a worker: plain data. */
export interface AnalysisTask {
  readonly site: string;
  readonly version: number;
  readonly process: string;
  readonly inputs: Readonly<Record<string, unknown>>;
}

/** Runs in a worker: fetch the finds, compute, give the answer back. */
export async function performAnalysis(
  room: { readonly shelf: SurveyShelf; readonly catalogue: readonly Analysis[] },
  task: AnalysisTask,
  progress: (share: number, doing: string) => void,
): Promise<RunAnswer> {
  const analysis = analysisOf(room.catalogue, task.process);
  const inputs = checkInputs(analysis, task.inputs);
  progress(0, 'reading the finds');
  const { survey } = await room.shelf.get(task.site, task.version);
  const { common } = inputs;
  const fits = filterOfFinds(survey, common)?.marks();
  const sample = makeSample(survey, {
    ...(fits ? { fits } : {}),
    seasons: common.season,
    classes: common.artefact_class,
    identifiedAsOf: common.identified_as_of,
    within: windowRegion(common.window, survey),
    countUnit: common.count_unit,
    spot: common.spot,
    squareOnly: common.square_only,
    needsWindow: analysis.needsWindow ?? true,
    needsRegister: analysis.needsRegister ?? false,
  });
  const state = analysis.comparedWith?.(inputs.own as never) ?? null;
  const known = state && (await knownStates(room.shelf, { survey, task, state, common, classes: sample.classes }));
  return executeAnalysis(analysis, known ? { ...sample, known } : sample, inputs, progress);
}

/** Classes of the finds in the state asked for, and in that of the run. @throws Problem no-such-version */
async function knownStates(
  shelf: SurveyShelf,
  of: {
    readonly survey: Survey;
    readonly task: AnalysisTask;
    readonly state: ComparedState;
    readonly common: CommonInputs;
    /** of the selection, children included */
    readonly classes: readonly string[];
  },
): Promise<NonNullable<Sample['known']>> {
  const { survey, task, state, common } = of;
  const other = state.version === null ? survey : (await shelf.get(task.site, state.version)).survey;
  const classesOf = (from: Survey, identifiedAsOf: string | null) => {
    const fits = filterOfFinds(from, common)?.marks();
    return knownClasses(from, { seasons: common.season, identifiedAsOf, ...(fits ? { fits } : {}) });
  };
  return {
    before: classesOf(other, state.identifiedAsOf ?? common.identified_as_of),
    after: classesOf(survey, common.identified_as_of),
    classes: common.artefact_class.length === 0 ? null : of.classes,
  };
}

/** A window polygon in site-grid metres; null when the whole dug area is meant. @throws Problem bad-window */
function windowRegion(window: unknown, survey: Survey): Region | null {
  if (window === 'excavated') return null;
  const polygon = window as { type: string; coordinates: unknown; coordinate_space?: unknown };
  const convert: (x: number, y: number) => [number, number] =
    polygon.coordinate_space === 'site-grid' ? (x, y) => [x, y] : (lon, lat) => survey.frame.fromLonLat(lon, lat);
  const polygons = (polygon.type === 'Polygon' ? [polygon.coordinates] : polygon.coordinates) as unknown[];
  return polygonsRegion(polygons.map((rings) => list(rings).map((ring) => ringOf(ring, convert))));
}

function list(value: unknown): unknown[] {
  if (!Array.isArray(value) || value.length === 0) {
    throw new Problem('bad-window', 'input window: coordinates must be a list of rings, each a list of [x, y] pairs');
  }
  return value;
}

function ringOf(ring: unknown, convert: (x: number, y: number) => [number, number]): [number, number][] {
  const corners = list(ring).map((corner) => {
    const [x, y] = Array.isArray(corner) ? corner : [];
    if (typeof x !== 'number' || typeof y !== 'number' || !Number.isFinite(x) || !Number.isFinite(y)) {
      throw new Problem('bad-window', `input window: ${JSON.stringify(corner)} is not a pair of numbers`);
    }
    return convert(x, y);
  });
  if (corners.length < 4)
    throw new Problem(
      'bad-window',
      `input window: a ring needs at least 4 corners with the first repeated, got ${corners.length}`,
    );
  return corners;
}
