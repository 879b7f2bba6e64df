import { niceTicks } from './axes.js';
import { classColours, day } from './palette.js';
import type { Mark, Scene, Stroke } from './scene.js';
import {
  edgeMm,
  fineLine,
  heading,
  inkLine,
  type LegendRow,
  lineMark,
  padMm,
  paper,
  rectangle,
  sheetWidthMm,
  textMark,
  titleBlock,
} from './sheet.js';

/** Directions counted in sectors round a centre. */
export interface RosePlot {
  readonly title: string;
  readonly subtitle?: string;
  /** degrees clockwise from site_north */
  readonly directions: ArrayLike<number>;
  /** axial: every direction is drawn at both of its ends */
  readonly kind: 'axial' | 'directed';
  /** what the directions are, for the legend */
  readonly name: string;
  /** width of a sector, degrees; a whole number of them makes a circle */
  readonly sectorDeg?: number;
  /** mean direction with the half width of its interval; null = none */
  readonly mean?: { readonly deg: number; readonly errorDeg: number | null } | null;
  /** directions to compare with: the ship axis, downslope */
  readonly references?: readonly {
    readonly name: string;
    readonly deg: number;
    readonly kind: 'axial' | 'directed';
  }[];
  /** further norths, degrees clockwise from site_north, each with its full name */
  readonly norths?: readonly { readonly name: string; readonly fromSiteNorthDeg: number }[];
  readonly notes: readonly string[];
}

const blockWidthMm = 54;
const radiusMm = 46;
const petalColour = classColours[0];
const meanLine: Stroke = { colour: day.ink, widthMm: 0.6 };
const referenceDashes: readonly (readonly number[])[] = [
  [1.6, 1.1],
  [3.2, 1.1],
  [0.6, 0.9],
];
const ringLine: Stroke = { colour: day.rule, widthMm: 0.15 };

type Point = readonly [number, number];

/**
 * Rose of directions: the area of a sector, not its length, stands for the count, so that full sectors do not look
 * fuller than they are.
 */
export function plotRose(spec: RosePlot): Scene {
  const sectorDeg = spec.sectorDeg ?? 10;
  const counts = sectorCounts(spec.directions, { sectorDeg, kind: spec.kind });
  const most = Math.max(1, ...counts);
  const head = heading(spec.title, spec.subtitle, sheetWidthMm - 2 * (edgeMm + padMm));
  const block = titleBlock(legendRows(spec, sectorDeg), spec.notes, blockWidthMm);
  const top = edgeMm + padMm + head.heightMm + 8;
  const heightMm = Math.max(top + 2 * radiusMm + 12, edgeMm + padMm + head.heightMm + 4 + block.heightMm) + edgeMm;
  const centre: Point = [edgeMm + padMm + 8 + radiusMm, top + radiusMm];
  const lengthOf = (count: number) => radiusMm * Math.sqrt(count / most);
  return {
    widthMm: sheetWidthMm,
    heightMm,
    title: spec.subtitle === undefined ? spec.title : `${spec.title} ${spec.subtitle}`,
    marks: [
      ...paper(heightMm),
      head.place(edgeMm + padMm, edgeMm + padMm),
      { kind: 'group', name: 'rings', marks: ringMarks(most, centre, lengthOf) },
      { kind: 'group', name: spec.name, marks: petalMarks(counts, centre, { sectorDeg, lengthOf }) },
      { kind: 'group', name: 'scale', marks: scaleMarks(most, centre, lengthOf) },
      ...(spec.references ?? []).map(
        (reference, k): Mark => ({
          kind: 'group',
          name: reference.name,
          marks: ray(centre, { deg: reference.deg, kind: reference.kind, stroke: referenceStroke(k) }),
        }),
      ),
      ...meanMarks(spec, centre),
      { kind: 'group', name: 'norths', marks: northMarks(spec, centre) },
      block.place(sheetWidthMm - edgeMm - blockWidthMm, heightMm - edgeMm - block.heightMm),
    ],
  };
}

/** Directions in each sector from site_north clockwise, sectors centred on multiples of their width. */
export function sectorCounts(
  directions: ArrayLike<number>,
  { sectorDeg, kind }: { readonly sectorDeg: number; readonly kind: 'axial' | 'directed' },
): number[] {
  const sectors = Math.round(360 / sectorDeg);
  const counts = new Array<number>(sectors).fill(0);
  const count = (deg: number) => {
    const turned = (((deg + sectorDeg / 2) % 360) + 360) % 360;
    counts[Math.min(sectors - 1, Math.floor(turned / sectorDeg))]++;
  };
  for (let i = 0; i < directions.length; i++) {
    if (!Number.isFinite(directions[i])) continue;
    count(directions[i]);
    if (kind === 'axial') count(directions[i] + 180);
  }
  return counts;
}

function onCircle([x, y]: Point, lengthMm: number, deg: number): Point {
  const angle = (deg * Math.PI) / 180;
  return [x + lengthMm * Math.sin(angle), y - lengthMm * Math.cos(angle)];
}

function arc(centre: Point, lengthMm: number, [from, to]: readonly [number, number]): Point[] {
  const steps = Math.max(2, Math.ceil(Math.abs(to - from) / 3));
  return Array.from({ length: steps + 1 }, (_, k) => onCircle(centre, lengthMm, from + ((to - from) * k) / steps));
}

function ringsOf(most: number): number[] {
  const ticks = niceTicks(0, most, 4).filter((t) => t > 0 && Number.isInteger(t));
  return ticks.length > 0 ? ticks : [most];
}

/** The scale stands to the lower left, where the norths are not. */
function scaleMarks(most: number, centre: Point, lengthOf: (count: number) => number): Mark[] {
  return ringsOf(most).map((t) =>
    textMark(String(t), onCircle(centre, lengthOf(t), 225), { colour: day.ink, anchor: 'end' }),
  );
}

function ringMarks(most: number, centre: Point, lengthOf: (count: number) => number): Mark[] {
  const rings = ringsOf(most);
  return [
    ...rings.map((t) => lineMark(ringLine, ...arc(centre, lengthOf(t), [0, 360]))),
    lineMark(fineLine, onCircle(centre, radiusMm + 2, 0), onCircle(centre, radiusMm + 2, 180)),
    lineMark(fineLine, onCircle(centre, radiusMm + 2, 90), onCircle(centre, radiusMm + 2, 270)),
  ];
}

function petalMarks(
  counts: readonly number[],
  centre: Point,
  { sectorDeg, lengthOf }: { readonly sectorDeg: number; readonly lengthOf: (count: number) => number },
): Mark[] {
  return counts.flatMap((count, k): Mark[] =>
    count === 0
      ? []
      : [
          {
            kind: 'area',
            rings: [[centre, ...arc(centre, lengthOf(count), [(k - 0.5) * sectorDeg, (k + 0.5) * sectorDeg])]],
            fill: petalColour,
            opacity: 0.65,
            stroke: inkLine,
          },
        ],
  );
}

function ray(
  centre: Point,
  of: { readonly deg: number; readonly kind: 'axial' | 'directed'; readonly stroke: Stroke },
): Mark[] {
  const from = of.kind === 'axial' ? onCircle(centre, radiusMm, of.deg + 180) : centre;
  return [lineMark(of.stroke, from, onCircle(centre, radiusMm, of.deg))];
}

const referenceStroke = (k: number): Stroke => ({
  colour: day.warning,
  widthMm: 0.45,
  dashMm: referenceDashes[k % referenceDashes.length],
});

function meanMarks({ mean, kind }: RosePlot, centre: Point): Mark[] {
  if (!mean) return [];
  const ends = kind === 'axial' ? [mean.deg, mean.deg + 180] : [mean.deg];
  const { errorDeg } = mean;
  return [
    {
      kind: 'group',
      name: 'mean',
      marks: [
        ...ray(centre, { deg: mean.deg, kind, stroke: meanLine }),
        ...(errorDeg === null
          ? []
          : ends.map((deg) => lineMark(meanLine, ...arc(centre, radiusMm + 1.2, [deg - errorDeg, deg + errorDeg])))),
      ],
    },
  ];
}

function northMarks(spec: RosePlot, centre: Point): Mark[] {
  const norths = [{ name: 'site_north', fromSiteNorthDeg: 0 }, ...(spec.norths ?? [])];
  return norths.flatMap(({ name, fromSiteNorthDeg }): Mark[] => {
    const [x, y] = onCircle(centre, radiusMm + 5, fromSiteNorthDeg);
    const isLeft = Math.sin((fromSiteNorthDeg * Math.PI) / 180) < -0.05;
    return [
      lineMark(
        inkLine,
        onCircle(centre, radiusMm + 1, fromSiteNorthDeg),
        onCircle(centre, radiusMm + 4, fromSiteNorthDeg),
      ),
      textMark(name, [x, y], { anchor: fromSiteNorthDeg === 0 ? 'middle' : isLeft ? 'end' : 'start', weight: 'bold' }),
    ];
  });
}

function legendRows(spec: RosePlot, sectorDeg: number): LegendRow[] {
  const rows: LegendRow[] = [
    {
      name: `${spec.name}, sectors of ${sectorDeg}°; area stands for the count`,
      sample: (x, y, widthMm) => [
        {
          kind: 'area',
          rings: [rectangle(x, y - 1.3, widthMm, 2.6)],
          fill: petalColour,
          opacity: 0.65,
          stroke: inkLine,
        },
      ],
    },
  ];
  if (spec.mean) {
    rows.push({
      name: `mean ${spec.kind === 'axial' ? 'axis' : 'direction'}${spec.mean.errorDeg === null ? '' : ', arc: 95 %'}`,
      sample: (x, y, widthMm) => [lineMark(meanLine, [x, y], [x + widthMm, y])],
    });
  }
  for (const [k, reference] of (spec.references ?? []).entries()) {
    rows.push({
      name: reference.name,
      sample: (x, y, widthMm) => [lineMark(referenceStroke(k), [x, y], [x + widthMm, y])],
    });
  }
  return rows;
}
