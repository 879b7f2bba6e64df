import * as z from 'zod';
import type { FeatureTable } from '../domain/feature-table.js';
import type { Raster } from '../domain/raster.js';
import type { Sample, SurveyReadings } from '../domain/sample.js';
import type { SurfaceMesh } from '../domain/surface-mesh.js';
import type { Scene } from '../figures/scene.js';
import type { RandomStream } from '../math/random.js';

/** Progress and seed of one run; `progress` also throws when the run was cancelled. */
export interface RunControl {
  readonly seed: number;
  readonly simulations: number;
  readonly draws: number;
  progress(share: number, doing: string): void;
}

/** What an analysis gives back. `summary` fits the descriptor's result schema: no NaN, unknown is null. */
export interface Answer<Summary> {
  readonly summary: Summary;
  /** rows for a report, one cell each column; numbers stay numbers */
  readonly table: AnswerTable;
  /** a layer in site-grid metres: finds with their values, bands, contours */
  readonly features?: FeatureTable;
  /** a surface, cut along the map's axes */
  readonly coverage?: Raster;
  /** a surface in space, only where it was asked for */
  readonly mesh?: SurfaceMesh;
  readonly figure: Scene;
  /** a paragraph for the methods section, with the values used and sources */
  readonly methods: string;
  /** sentences a reader must see beside the number: too few finds, coincident points, unresolved bow … */
  readonly cautions: readonly string[];
}

export interface AnswerTable {
  readonly columns: readonly { readonly name: string; readonly title: string; readonly unit?: string }[];
  readonly rows: readonly (readonly (string | number | null)[])[];
}

/** An example whose numbers another program made: a test runs it, the documentation page prints it. */
export interface WorkedExample {
  /** program, version and call, or the publication */
  readonly source: string;
  readonly xy: readonly (readonly [number, number])[];
  /** elevation of each point, metres */
  readonly z?: readonly number[];
  /** artefact class of each point */
  readonly classes?: readonly string[];
  /** season of each point */
  readonly seasons?: readonly string[];
  /** pairs of points that join, counted from 0 */
  readonly joins?: readonly (readonly [number, number])[];
  /** polygons; first ring outer, others holes */
  readonly window: readonly (readonly (readonly (readonly [number, number])[])[])[];
  readonly hull?: readonly { readonly element: string; readonly line: readonly (readonly [number, number])[] }[];
  /** level readings, where the analysis reads levels */
  readonly levels?: readonly WorkedLevel[];
  /** control, tapes and common points, where the analysis reads a survey */
  readonly readings?: SurveyReadings;
  /** a site grid of one-metre squares from 0, 0, where the analysis speaks of squares */
  readonly grid?: { readonly columns: number; readonly rows: number };
  /** areas planned but not dug, corners of each */
  readonly planned?: readonly (readonly (readonly [number, number])[])[];
  readonly parameters: Record<string, unknown>;
  readonly simulations?: number;
  /** dotted paths into the summary → value */
  readonly expected: Readonly<Record<string, number>>;
  /** relative */
  readonly tolerance: number;
}

/** One level reading of a worked example, metres. */
export interface WorkedLevel {
  readonly x: number;
  readonly y: number;
  readonly surface: string;
  readonly elevation: number;
  readonly sigma?: number;
  readonly season?: string;
}

/** Everything the service, the command line, the documentation and the tests need to know of one analysis. */
export interface Analysis<P extends z.ZodObject = z.ZodObject, R extends z.ZodObject = z.ZodObject> {
  readonly id: string;
  readonly title: string;
  /** rises when any number changes */
  readonly version: string;
  /** the question it answers, in the trade's words */
  readonly summary: string;
  /** where it misleads, one sentence each */
  readonly cautions: readonly string[];
  /** the formula, as text for the documentation page */
  readonly formula: string;
  readonly sources: readonly string[];
  /** own inputs beside the common ones; strict: an unknown name is refused; every field has a default */
  readonly parameters: P;
  readonly result: R;
  /** outputs beside summary, table, figure, methods and provenance */
  readonly layers: { readonly features?: 'point' | 'line' | 'area'; readonly coverage?: true; readonly mesh?: true };
  readonly squareOnly: 'exclude' | 'spread';
  /** true: `run` spreads area positions itself; false: the runner redraws them `draws` times */
  readonly spreadsItself: boolean;
  /** common inputs without effect here, named in every answer */
  readonly withoutEffect: readonly string[];
  /** false: the answer needs no dug area (survey readings); the window is then empty when there is none */
  readonly needsWindow?: false;
  /** true: the sample brings every find chosen as the register counts it, those without a place included */
  readonly needsRegister?: true;
  /** true: the answer speaks of squares of the site grid and refuses plain files */
  readonly needsGrid?: true;
  /** who may run it, where not everybody who may read the finds: analyst = analysts and those above them */
  readonly access?: 'analyst';
  /** another data version or identification date whose classes the sample brings along; null = none asked for */
  comparedWith?(parameters: z.output<P>): ComparedState | null;
  readonly defaultSimulations: number;
  readonly worked: readonly WorkedExample[];
  /** how the test that leads the answer is tried out: without an effect, and with effects planted; none = it tests nothing */
  readonly trial?: Trial;
  /** laws the shared tests may check */
  readonly laws: { readonly movedAndTurned: boolean };
  run(sample: Sample, parameters: z.output<P>, control: RunControl): Answer<z.output<R>>;
}

/** An earlier or later state of the register: null = the version, or the date, of the run itself. */
export interface ComparedState {
  readonly version: number | null;
  readonly identifiedAsOf: string | null;
}

/**
 * How a test is tried out on made-up finds: what strength of which effect is planted, and which p answers for it. The
 * input `power` finds the smallest effect that would be seen; the size of the test is its share of rejections at 0.
 */
export interface Trial {
  /** what is planted, in words that go with the number: 'share of the finds lying in heaps' */
  readonly effect: string;
  /** UCUM code */
  readonly unit: string;
  /** strengths tried, ascending, without 0 */
  readonly strengths: readonly number[];
  /**
   * The same dig with made-up finds, as many as there are.
   * @param strength  0 = nothing but chance, as the test's own null has it
   */
  plant(sample: Sample, strength: number, random: RandomStream): Sample;
  /** the p that leads the answer; null = it cannot be given */
  probability(summary: Record<string, unknown>): number | null;
}

/** Types a descriptor from its own schemas. */
export function defineAnalysis<P extends z.ZodObject, R extends z.ZodObject>(analysis: Analysis<P, R>): Analysis<P, R> {
  return analysis;
}

const words = z.union([z.string(), z.array(z.string())]).transform((v) => (Array.isArray(v) ? v : [v]));

/** Inputs every process takes (the selection and how finds are counted and placed). */
export const commonInputs = z.strictObject({
  season: words.default([]).meta({ title: 'Season', description: 'Only finds and areas of these seasons; none = all' }),
  artefact_class: words
    .default([])
    .meta({ title: 'Artefact class', description: 'Only these classes, children included; none = all' }),
  filter: z
    .union([z.string(), z.boolean(), z.looseObject({ op: z.string(), args: z.array(z.unknown()) })])
    .nullable()
    .default(null)
    .meta({
      title: 'Filter',
      description:
        "Only finds of which this is true: CQL2 text such as z_elevation < -0.5 AND material = 'iron', or CQL2 JSON, by the properties of the collection finds. The excavated area stays that of the seasons chosen",
    }),
  version: z.int().min(1).nullable().default(null).meta({ title: 'Data version', description: 'none = the newest' }),
  identified_as_of: z.iso.date().nullable().default(null).meta({
    title: 'Identified as of',
    description: 'Use the class known at this date',
  }),
  window: z
    .union([
      z.literal('excavated'),
      z.looseObject({ type: z.enum(['Polygon', 'MultiPolygon']), coordinates: z.array(z.unknown()) }),
    ])
    .default('excavated')
    .meta({
      title: 'Window',
      description:
        'The excavated area of the seasons chosen, or a polygon in longitude and latitude (site-grid metres with "coordinate_space": "site-grid"); only its dug part is used',
    }),
  count_unit: z.enum(['find', 'piece', 'pot_vessel', 'weight']).default('find').meta({
    title: 'Count unit',
    description: 'What one counts: finds, pieces, pot vessels, or grams',
  }),
  spot: z.enum(['concretion', 'find']).default('concretion').meta({
    title: 'Spot',
    description: 'concretion: all children of one concretion are one spot',
  }),
  square_only: z.enum(['exclude', 'spread']).optional().meta({
    title: 'Finds known by square only',
    description: 'Leave them out, or spread them uniformly inside what is known',
  }),
  draws: z
    .int()
    .min(1)
    .max(999)
    .default(19)
    .meta({ title: 'Draws', description: 'How often square-only positions are redrawn' }),
  position_error: z.enum(['ignore', 'redraw']).default('ignore').meta({
    title: 'Position error',
    description: 'redraw: shift every find by its own standard deviation, `draws` times, and give the range',
  }),
  power: z.boolean().default(false).meta({
    title: 'Power',
    description: 'Also find the smallest effect that this test would see 8 times in 10, by planting effects',
  }),
  simulations: z.int().min(0).max(99_999).optional().meta({ title: 'Simulations', description: '0 = none' }),
  seed: z.int().min(0).default(1790).meta({ title: 'Seed', description: 'Equal seeds give equal answers' }),
  keep: z
    .boolean()
    .default(false)
    .meta({ title: 'Keep', description: 'Keep the result of a synchronous run as layers' }),
});

export type CommonInputs = z.output<typeof commonInputs>;
