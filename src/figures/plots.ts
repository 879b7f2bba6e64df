/** One curve of a plot: y against x in the axes' own units. A value that is not finite breaks the line. */
export interface Curve {
  readonly name: string;
  readonly x: readonly number[];
  readonly y: readonly number[];
  /** observed: solid ink; reference: dashed quiet; class1…class8: Okabe–Ito in the order of the palette */
  readonly style: 'observed' | 'reference' | `class${1 | 2 | 3 | 4 | 5 | 6 | 7 | 8}`;
  /** steps: the value holds until the next x (distribution functions) */
  readonly steps?: boolean;
}

/** Ground between two curves: an envelope, an interval. */
export interface Band {
  readonly name: string;
  readonly x: readonly number[];
  readonly low: readonly number[];
  readonly high: readonly number[];
}

export interface CurvePlot {
  readonly title: string;
  readonly subtitle?: string;
  readonly xTitle: string;
  readonly yTitle: string;
  readonly curves: readonly Curve[];
  readonly bands?: readonly Band[];
  /** lines of the title block: n, window m², data version, what was left out */
  readonly notes: readonly string[];
}

/** Points of one kind on a plan, with their own symbol and colour. */
export interface PointGroup {
  readonly name: string;
  readonly points: readonly (readonly [number, number])[];
  readonly style: 'ink' | `class${1 | 2 | 3 | 4 | 5 | 6 | 7 | 8}`;
  /** size of the symbols, mm; none = smaller the more points there are */
  readonly sizeMm?: number;
}

/** A closed line drawn over the points of a plan: an ellipse, the hull of a cluster. */
export interface PlanOutline {
  /** for the legend; outlines of one name are told once */
  readonly name: string;
  readonly points: readonly (readonly [number, number])[];
  readonly style: `class${1 | 2 | 3 | 4 | 5 | 6 | 7 | 8}`;
}

/** A line of equal value on a plan. */
export interface ContourLine {
  readonly points: readonly (readonly [number, number])[];
  /** written on the line when it is long enough; none = no label */
  readonly label?: string;
  /** major lines are heavier */
  readonly weight: 'major' | 'minor';
  /** beyond the ground that was levelled: dashed */
  readonly isBeyond?: boolean;
}

export interface PlanPlot {
  readonly title: string;
  readonly subtitle?: string;
  /** window outline, [rings][corners], site-grid metres, y up */
  readonly window: readonly (readonly (readonly [number, number])[])[];
  readonly points?: readonly (readonly [number, number])[];
  /** what the points are, for the legend: 'finds' when not given */
  readonly pointsName?: string;
  /** points by kind, at most eight kinds; drawn over `points` */
  readonly groups?: readonly PointGroup[];
  readonly hull?: readonly { readonly closed: boolean; readonly points: readonly (readonly [number, number])[] }[];
  /** filled contour bands, low to high; each covers those above it or lies beside them */
  readonly bands?: readonly {
    readonly level: number;
    readonly rings: readonly (readonly (readonly [number, number])[])[];
    /** words and colour of its own, where level and ramp do not say them: ground inside a level of detection */
    readonly look?: { readonly name?: string; readonly colour?: string };
  }[];
  /** UCUM: 'm-2' reads as per m² */
  readonly bandUnit?: string;
  /** what the bands show, for the legend */
  readonly bandName?: string;
  /** lines of equal value, over the bands and the hull */
  readonly contours?: readonly ContourLine[];
  /** what the lines are, for the legend: 'contours' when not given */
  readonly contourName?: string;
  /** closed lines over the points */
  readonly outlines?: readonly PlanOutline[];
  /** surface: cividis (default); thickness: one hue; difference: two hues that part at zero */
  readonly ramp?: 'surface' | 'thickness' | 'difference';
  /** further norths beside site_north: degrees clockwise from site_north, each with its full name */
  readonly norths?: readonly { readonly name: string; readonly fromSiteNorthDeg: number }[];
  readonly notes: readonly string[];
}

export { plotCurves } from './curve-plot.js';
export { plotPlan } from './plan-plot.js';
