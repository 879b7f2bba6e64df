import { tableOf as featuresOf } from '../../domain/columns.js';
import type { FeatureTable, Value } from '../../domain/feature-table.js';
import type { Sample } from '../../domain/sample.js';
import { fixedText, numberText } from '../../figures/axes.js';
import type { Scene } from '../../figures/scene.js';
import { plotSection, type SectionFinds, type SectionPattern } from '../../figures/section-plot.js';
import type { Projected, Station } from '../../math/profile.js';
import { sigmasOf95 } from '../../math/vertical-uncertainty.js';
import type { AnswerTable } from '../contract.js';
import type { SectionLine } from './line-text.js';
import type { Parameters, Summary } from './schemas.js';
import type { SurfaceProfile } from './surfaces.js';

/** A find carried onto the section. */
export interface SectionFind {
  /** its place in the sample */
  readonly index: number;
  readonly label: string;
  readonly artefactClass: string | null;
  readonly alongM: number;
  readonly offM: number;
  readonly z: number | null;
  readonly zMin: number | null;
  readonly zMax: number | null;
}

/** Everything table, layer, drawing and words of one section are made from. */
export interface SectionDrawing {
  readonly sample: Sample;
  readonly own: Parameters;
  readonly line: SectionLine;
  readonly stations: readonly Station[];
  readonly profiles: readonly SurfaceProfile[];
  readonly thickness: Float64Array;
  readonly finds: readonly SectionFind[];
  readonly summary: Summary;
}

const known = (v: number): number | null => (Number.isNaN(v) ? null : v);

/** The finds of the band, from the start of the line. A range without both ends is no range. */
export function findsOf(sample: Sample, projected: readonly (Projected | null)[]): SectionFind[] {
  const { zMin, zMax } = sample.detail;
  return projected
    .flatMap((place, index): SectionFind[] => {
      if (place === null) return [];
      const isRange = !Number.isNaN(zMin[index]) && !Number.isNaN(zMax[index]);
      const code = sample.classCode[index];
      return [
        {
          index,
          label: sample.label[index],
          artefactClass: code === 0 ? null : sample.classes[code - 1],
          alongM: place.alongM,
          offM: place.offM,
          z: known(sample.z[index]),
          zMin: isRange ? zMin[index] : null,
          zMax: isRange ? zMax[index] : null,
        },
      ];
    })
    .sort((a, b) => a.alongM - b.alongM || a.index - b.index);
}

/** The profile place by place, then the finds. */
export function tableOf({ summary, finds, profiles }: SectionDrawing): AnswerTable {
  const names = profiles.map((p) => p.surface);
  const blank = names.map(() => null);
  return {
    columns: [
      { name: 'row', title: 'Row' },
      { name: 'along_m', title: 'Along the section', unit: 'm' },
      { name: 'local_x', title: 'local_x', unit: 'm' },
      { name: 'local_y', title: 'local_y', unit: 'm' },
      ...names.map((name) => ({ name: `${name}_m`, title: `Elevation of ${name}`, unit: 'm' })),
      { name: 'thickness_m', title: 'Thickness', unit: 'm' },
      { name: 'find', title: 'Find' },
      { name: 'artefact_class', title: 'Artefact class' },
      { name: 'off_m', title: 'Off the line, positive to the left', unit: 'm' },
      { name: 'z_elevation', title: 'Elevation of the find', unit: 'm' },
      { name: 'z_min', title: 'Lowest elevation of the find', unit: 'm' },
      { name: 'z_max', title: 'Highest elevation of the find', unit: 'm' },
    ],
    rows: [
      ...summary.profile.map((p) => [
        'profile',
        p.along_m,
        p.local_x_m,
        p.local_y_m,
        ...names.map((name) => p.elevation_m[name]),
        p.thickness_m,
        ...[null, null, null, null, null, null],
      ]),
      ...finds.map((f) => [
        'find',
        f.alongM,
        null,
        null,
        ...blank,
        null,
        f.label,
        f.artefactClass,
        f.offM,
        f.z,
        f.zMin,
        f.zMax,
      ]),
    ],
  };
}

/** Places of the profile with every elevation, and the finds where they lay. */
export function profileLayer({ summary, finds, profiles, sample }: SectionDrawing): FeatureTable {
  const names = profiles.map((p) => p.surface);
  const rows = [
    ...summary.profile.map(
      (p): Record<string, Value> => ({
        kind: 'profile',
        along_m: p.along_m,
        thickness_m: p.thickness_m,
        ...Object.fromEntries(names.map((name) => [`${name}_m`, p.elevation_m[name]])),
      }),
    ),
    ...finds.map(
      (f): Record<string, Value> => ({
        kind: 'find',
        along_m: f.alongM,
        off_m: f.offM,
        find: f.label,
        artefact_class: f.artefactClass,
        z_elevation: f.z,
        z_min: f.zMin,
        z_max: f.zMax,
      }),
    ),
  ];
  const coordinates = Float64Array.from([
    ...summary.profile.flatMap((p) => [p.local_x_m, p.local_y_m]),
    ...finds.flatMap((f) => [sample.xy[2 * f.index], sample.xy[2 * f.index + 1]]),
  ]);
  return featuresOf({
    name: 'section',
    fields: [
      { name: 'kind', title: 'Kind', type: 'text', choices: ['profile', 'find'] },
      { name: 'along_m', title: 'Along the section', type: 'number', unit: 'm' },
      { name: 'off_m', title: 'Off the line, positive to the left', type: 'number', unit: 'm' },
      ...names.map((name) => ({
        name: `${name}_m`,
        title: `Elevation of ${name}`,
        type: 'number' as const,
        unit: 'm',
      })),
      { name: 'thickness_m', title: 'Thickness', type: 'number', unit: 'm' },
      { name: 'find', title: 'Find', type: 'text', distinct: true },
      { name: 'artefact_class', title: 'Artefact class', type: 'text' },
      { name: 'z_elevation', title: 'Elevation of the find', type: 'number', unit: 'm' },
      { name: 'z_min', title: 'Lowest elevation of the find', type: 'number', unit: 'm' },
      { name: 'z_max', title: 'Highest elevation of the find', type: 'number', unit: 'm' },
    ],
    rows,
    geometry: { type: 'point', coordinates },
  });
}

const patterns: Readonly<Record<string, SectionPattern>> = {
  seabed_before: 'dotted',
  deposit_top: 'heavy',
  top: 'heavy',
  excavation_limit: 'dashed',
  deposit_bottom: 'solid',
  bottom: 'solid',
  hard_substrate: 'chained',
  bathymetry: 'sounded',
};

/** most kinds of finds with a look of their own */
const mostClasses = 7;

function findGroups(finds: readonly SectionFind[]): SectionFinds[] {
  const drawn = finds.filter((f) => f.z !== null || f.zMin !== null);
  const counts = new Map<string, number>();
  for (const f of drawn) {
    const name = f.artefactClass ?? 'class unknown';
    counts.set(name, (counts.get(name) ?? 0) + 1);
  }
  const names = [...counts].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1)).map(([name]) => name);
  const group = (name: string, own: readonly SectionFind[], style: SectionFinds['style']): SectionFinds => ({
    name,
    style,
    points: own.flatMap((f) => (f.z === null ? [] : [[f.alongM, f.z] as const])),
    ranges: own.flatMap((f) =>
      f.z === null && f.zMin !== null && f.zMax !== null ? [[f.alongM, f.zMin, f.zMax] as const] : [],
    ),
  });
  const of = (name: string) => drawn.filter((f) => (f.artefactClass ?? 'class unknown') === name);
  const shown = names.length > mostClasses + 1 ? names.slice(0, mostClasses) : names.slice(0, mostClasses + 1);
  const rest = drawn.filter((f) => !shown.includes(f.artefactClass ?? 'class unknown'));
  return [
    ...(rest.length > 0 ? [group(`${names.length - shown.length} other classes`, rest, 'ink')] : []),
    ...shown.map((name, k) => group(name, of(name), `class${k + 1}` as SectionFinds['style'])),
  ];
}

/** The section drawing. */
export function figureOf(drawn: SectionDrawing): Scene {
  const { summary, own, line, stations, profiles, sample } = drawn;
  const along = stations.map((s) => s.alongM);
  const has = (name: string) => profiles.some((p) => p.surface === name);
  const [upper, lower] = has('deposit_top') ? ['deposit_top', 'deposit_bottom'] : ['top', 'bottom'];
  let bend = 0;
  const bends = line.places.slice(1, -1).map((place, i) => {
    bend += Math.hypot(place[0] - line.places[i][0], place[1] - line.places[i][1]);
    return bend;
  });
  return plotSection({
    title: `Section along ${line.name.length > 70 ? `a line of ${line.places.length} places` : line.name}`,
    subtitle: `${numberText(summary.length_m)} m; vertical exaggeration ${numberText(own.exaggeration)} times; finds within ${numberText(own.band_m)} m of the line`,
    lengthM: summary.length_m,
    exaggeration: own.exaggeration,
    datumName: 'site datum',
    surfaces: profiles
      .filter((p) => p.knownM > 0)
      .map((p) => ({
        name: p.surface,
        along,
        elevation: [...p.elevation],
        pattern: patterns[p.surface] ?? 'solid',
        // the levels' own errors are thinner than their lines
        ...(p.surface === 'bathymetry' ? { half95: [...p.sigma].map((s) => sigmasOf95 * s) } : {}),
      })),
    ...(summary.thickness ? { fill: { name: 'deposit', upper, lower } } : {}),
    finds: findGroups(drawn.finds),
    bends,
    notes: [
      `from ${placeText(line.places[0])} to ${placeText(line.places[line.places.length - 1])}`,
      ...(summary.thickness
        ? [
            `deposit cut ${fixedText(summary.thickness.area_m2, 2)} m² over ${numberText(summary.thickness.known_m)} m, mean ${fixedText(summary.thickness.mean_m, 2)} m`,
          ]
        : []),
      ...(summary.bathymetry?.combined_sigma_m
        ? [
            `bathymetry: ${summary.bathymetry.uncertainty}, ± ${fixedText(sigmasOf95 * summary.bathymetry.combined_sigma_m, 2)} m (95 %) in the site datum`,
          ]
        : []),
      `${summary.n} finds in the band${summary.finds_without_z > 0 ? `, ${summary.finds_without_z} of them without elevation not drawn` : ''}`,
      ...(sample.dataVersion === null ? [] : [`data version ${sample.dataVersion}`]),
    ],
  });
}

const placeText = ([x, y]: readonly [number, number]) => `${numberText(x)}, ${numberText(y)}`;

/** The paragraph for a methods section. */
export function methodsOf({ summary, own, line, sample }: SectionDrawing): string {
  const seasons =
    own.node_value === 'newest' ? 'of several seasons at a node the newest' : 'of several seasons at a node their mean';
  return [
    `Section along ${line.name}, ${numberText(summary.length_m)} m, read every ${own.step_m} m and at its bends.`,
    `Surfaces are bilinear between the four nodes of each square (Press et al. 2007), ${own.missing_corner === 'triangle' ? 'in squares with three nodes the plane of the three inside their triangle' : 'unknown where a node is missing'}; ${seasons}; readings of one node and season are averaged.`,
    `${summary.n} finds within ${own.band_m} m on either side are carried square onto the line (window ${numberText(sample.windowAreaM2)} m², ${sample.windowSource}); heights are drawn ${own.exaggeration} times as large as lengths.`,
    ...(summary.bathymetry?.combined_sigma_m
      ? [
          `The bathymetry (${summary.bathymetry.vertical_datum}, ${summary.bathymetry.uncertainty}) is read bilinearly between its cells and brought to the site datum by ${numberText(-(summary.bathymetry.offset_to_site_datum_m ?? 0))} m; its error is that of survey and tie together, ± ${fixedText(sigmasOf95 * summary.bathymetry.combined_sigma_m, 2)} m (95 %).`,
        ]
      : []),
  ].join(' ');
}

/** Sentences a reader must see beside the drawing. */
export function cautionsOf({ summary, own, sample, line }: SectionDrawing): string[] {
  const out: string[] = [];
  const { thickness } = summary;
  if (thickness === null) out.push('Top and bottom of the deposit are nowhere known together along this line.');
  else if (thickness.known_m < 0.999 * summary.length_m) {
    out.push(
      `The thickness is known along ${numberText(thickness.known_m, { digits: 3 })} of ${numberText(summary.length_m, { digits: 3 })} m; gaps are left open.`,
    );
  }
  if (thickness && thickness.least_m < 0) {
    out.push('Somewhere along the line the bottom lies above the top: swapped readings, or two datums.');
  }
  if (summary.finds_without_z > 0) {
    out.push(`${summary.finds_without_z} of ${summary.n} finds in the band have no elevation and are not drawn.`);
  }
  out.push(...bathymetryCautions(summary.bathymetry));
  if (own.exaggeration !== 1) out.push(`Heights are drawn ${own.exaggeration} times as large as lengths.`);
  if (line.name.startsWith('the ship axis') && sample.shipAxis?.bowEnd === 'unresolved') {
    out.push('Which end is the bow is not resolved: the section may run the other way.');
  }
  return out;
}

function bathymetryCautions(bathymetry: Summary['bathymetry']): string[] {
  if (bathymetry === null) return [];
  if (bathymetry.offset_to_site_datum_m === null) {
    return [
      `The bathymetry stands in ${bathymetry.vertical_datum}, which site.json does not tie to the site datum (vertical_datum: hydrographic_datum, offset_m): it is not drawn.`,
    ];
  }
  const against = bathymetry.against_levels;
  const out =
    bathymetry.tie_sigma_m === null
      ? ['The tie of the bathymetry to the site datum states no error; none is in its σ.']
      : [];
  if (against) {
    out.push(
      `The bathymetry lies ${fixedText(Math.abs(against.mean_above_m), 2)} m ${against.mean_above_m < 0 ? 'below' : 'above'} ${against.surface} on average, with both errors ± ${fixedText(against.combined_95_m, 2)} m (95 %): ${against.within_95 ? 'no difference can be told' : 'more than their errors explain'}. It is another survey, not one more level.`,
    );
  }
  return out;
}
