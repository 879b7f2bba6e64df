import { contourMarks } from './contour-lines.js';
import { hatching } from './hatching.js';
import { day } from './palette.js';
import { northMarks, northsWidthMm, type PlanFrame, planFrame, scaleBar } from './plan-frame.js';
import { bandColours, hullLine, legendRows, notDugLine, pointLook, windowLine } from './plan-legend.js';
import { outlineMarks } from './plan-outlines.js';
import type { PlanPlot, PointGroup } from './plots.js';
import type { Mark, Scene } from './scene.js';
import { edgeMm, heading, padMm, paper, rectangle, sheetWidthMm, titleBlock } from './sheet.js';

type Point = readonly [number, number];

const besideMm = 54;

/**
 * A plan square to the site grid at a round scale, on a sheet with metres along its frame, scale bar, site_north and
 * the title block. Ground outside the window is hatched as not dug and covers whatever bands spill over it.
 */
export function plotPlan(spec: PlanPlot): Scene {
  const head = heading(spec.title, spec.subtitle, sheetWidthMm - 2 * (edgeMm + padMm));
  const groups = pointGroups(spec);
  const norths = spec.norths ?? [];
  const headBottom = edgeMm + padMm + head.heightMm;
  const frame = planFrame({ boxM: planBox(spec, groups), topMm: headBottom + 3.5, blockWidthMm: besideMm });
  const foot = { top: frame.bottomMm + 7, left: edgeMm + padMm, heightMm: 16 };
  const footWidth = northsWidthMm(norths) + 12 + frame.scaleBarMm;
  const blockWidth =
    frame.layout === 'beside' ? besideMm : Math.min(104, sheetWidthMm - 2 * edgeMm - padMm - footWidth - 6);
  const block = titleBlock(legendRows(spec, groups), spec.notes, blockWidth);
  const heightMm =
    frame.layout === 'beside'
      ? Math.max(foot.top + foot.heightMm, headBottom + 4 + block.heightMm) + edgeMm
      : foot.top + Math.max(foot.heightMm, block.heightMm) + edgeMm;

  const footBase = heightMm - edgeMm - 4;
  return {
    widthMm: sheetWidthMm,
    heightMm,
    title: spec.subtitle === undefined ? spec.title : `${spec.title} ${spec.subtitle}`,
    marks: [
      ...paper(heightMm),
      head.place(edgeMm + padMm, edgeMm + padMm),
      ...bandGroup(spec, frame),
      ...notDugGroup(spec, frame),
      { kind: 'group', name: 'grid', marks: frame.gridMarks },
      { kind: 'group', name: 'window', marks: outline(spec.window, frame) },
      { kind: 'group', name: 'hull', marks: hullMarks(spec, frame) },
      ...contourMarks(spec.contours ?? [], frame),
      ...groups.filter((g) => g.sizeMm === undefined).map((g) => pointGroup(g, frame, spec)),
      ...outlineMarks(spec.outlines ?? [], frame),
      // symbols of a size of their own are few and matter: nothing covers them
      ...groups.filter((g) => g.sizeMm !== undefined).map((g) => pointGroup(g, frame, spec)),
      { kind: 'group', name: 'frame', marks: frame.frameMarks },
      { kind: 'group', name: 'norths', marks: northMarks(norths, [foot.left, footBase]) },
      {
        kind: 'group',
        name: 'scale',
        marks: scaleBar(frame, [foot.left + northsWidthMm(norths) + 6, footBase]),
      },
      block.place(sheetWidthMm - edgeMm - blockWidth, heightMm - edgeMm - block.heightMm),
    ],
  };
}

function pointGroups(spec: PlanPlot): PointGroup[] {
  const plain: PointGroup[] =
    spec.points === undefined || spec.points.length === 0
      ? []
      : [{ name: spec.pointsName ?? 'finds', points: spec.points, style: 'ink' }];
  return [...plain, ...(spec.groups ?? [])].map((g) => ({
    ...g,
    points: g.points.filter((p) => p.every(Number.isFinite)),
  }));
}

/** Box of all that is drawn, in whole metres; a square metre when nothing is. */
function planBox(spec: PlanPlot, groups: readonly PointGroup[]): readonly [number, number, number, number] {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  const take = (points: readonly Point[]) => {
    for (const [x, y] of points) {
      west = Math.min(west, x);
      east = Math.max(east, x);
      south = Math.min(south, y);
      north = Math.max(north, y);
    }
  };
  for (const ring of spec.window) take(ring);
  for (const group of groups) take(group.points);
  for (const part of spec.hull ?? []) take(part.points);
  for (const line of spec.contours ?? []) take(line.points);
  for (const outline of spec.outlines ?? []) take(outline.points);
  if (!(west <= east)) return [0, 0, 1, 1];
  const air = 0.02 * Math.max(east - west, north - south);
  return [Math.floor(west - air), Math.floor(south - air), Math.ceil(east + air), Math.ceil(north + air)];
}

function placed(ring: readonly Point[], frame: PlanFrame): Point[] {
  return ring.map(([x, y]) => frame.place(x, y));
}

function outline(rings: PlanPlot['window'], frame: PlanFrame): Mark[] {
  return rings
    .filter((ring) => ring.length > 1)
    .map((ring): Mark => ({ kind: 'line', points: placed([...ring, ring[0]], frame), stroke: windowLine }));
}

function bandGroup(spec: PlanPlot, frame: PlanFrame): Mark[] {
  if (spec.bands === undefined || spec.bands.length === 0) return [];
  const colours = bandColours(spec);
  const marks = spec.bands.flatMap((band, i): Mark[] =>
    band.rings.length === 0
      ? []
      : [{ kind: 'area', rings: band.rings.map((ring) => clipped(placed(ring, frame), frame)), fill: colours[i] }],
  );
  return [{ kind: 'group', name: 'bands', marks }];
}

/** A ring cut to the frame, side by side; runs along the frame are harmless when filled. @see Sutherland & Hodgman 1974, doi:10.1145/360767.360802 */
function clipped(ring: readonly Point[], frame: PlanFrame): Point[] {
  const sides: readonly (readonly [0 | 1, number, 1 | -1])[] = [
    [0, frame.leftMm, 1],
    [0, frame.rightMm, -1],
    [1, frame.topMm, 1],
    [1, frame.bottomMm, -1],
  ];
  let corners = [...ring];
  for (const [axis, limit, sign] of sides) {
    const depth = (p: Point) => sign * (p[axis] - limit);
    corners = corners.flatMap((p, i) => {
      const before = corners[(i + corners.length - 1) % corners.length];
      const kept: Point[] = depth(p) >= 0 ? [p] : [];
      if (depth(p) >= 0 === depth(before) >= 0) return kept;
      const share = depth(before) / (depth(before) - depth(p));
      return [[before[0] + share * (p[0] - before[0]), before[1] + share * (p[1] - before[1])] as const, ...kept];
    });
  }
  return corners;
}

/** Paper with fine hatching over everything in the frame that is not window. */
function notDugGroup(spec: PlanPlot, frame: PlanFrame): Mark[] {
  if (spec.window.length === 0) return [];
  const { leftMm, topMm, rightMm, bottomMm } = frame;
  const rings = [
    rectangle(leftMm, topMm, rightMm - leftMm, bottomMm - topMm),
    ...spec.window.map((ring) => placed(ring, frame)),
  ];
  return [
    {
      kind: 'group',
      name: 'not dug',
      marks: [
        { kind: 'area', rings, fill: day.paper },
        ...hatching(rings, { spacingMm: 1.3, angleDeg: 45, stroke: notDugLine }),
      ],
    },
  ];
}

function hullMarks(spec: PlanPlot, frame: PlanFrame): Mark[] {
  return (spec.hull ?? [])
    .filter((part) => part.points.length > 1)
    .map((part): Mark => {
      const points = part.closed ? [...part.points, part.points[0]] : part.points;
      return { kind: 'line', points: placed(points, frame), stroke: hullLine };
    });
}

/** Points shrink as they become many, 1.3 mm for a few to 0.6 mm for thousands, and over bands that must be seen. */
function pointSizeMm(spec: PlanPlot): number {
  const n = (spec.points?.length ?? 0) + (spec.groups ?? []).reduce((sum, g) => sum + g.points.length, 0);
  const sizeMm = n < 300 ? 1.3 : n < 1500 ? 1 : n < 4000 ? 0.75 : 0.6;
  return spec.bands === undefined ? sizeMm : 0.75 * sizeMm;
}

function pointGroup(group: PointGroup, frame: PlanFrame, spec: PlanPlot): Mark {
  const look = pointLook(group.style);
  const sizeMm = group.sizeMm ?? pointSizeMm(spec);
  return {
    kind: 'group',
    name: group.name,
    marks: group.points.map(([x, y]): Mark => ({ kind: 'symbol', at: frame.place(x, y), sizeMm, ...look })),
  };
}
