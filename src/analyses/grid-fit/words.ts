import type { Sample } from '../../domain/sample.js';
import type { GridFit } from './fit-grid.js';
import type { Parameters, Summary } from './schemas.js';

const shown = (value: number | null, digits = 4): string =>
  value === null ? 'not known' : String(Number(value.toPrecision(digits)));
const millimetres = (metres: number) => `${(1000 * metres).toFixed(1)} mm`;

/** The paragraph for a methods section. */
export function methodsOf(grid: GridFit, own: Parameters, sample: Sample): string {
  const { summary, mapGrid } = grid;
  const sentences: string[] = [];
  if (grid.fit) {
    sentences.push(
      `Four-parameter fit of the site grid to the projected CRS, target = scale · R(rotation, anticlockwise) · source + (tx, ty), least squares in centred closed form (Wolf & Ghilani 1997) on ${summary.n} common points${own.fixed_scale === null ? '' : `, the scale held at ${own.fixed_scale}`}; residuals are computed less given, rms over all coordinates.`,
      summary.mirrored_rms_m === null
        ? 'Fewer than three points: a mirrored grid cannot be told from a straight one.'
        : `The mirrored fit, which is also that with x and y exchanged, was tried: rms ${shown(summary.mirrored_rms_m)} m against ${shown(summary.rms_m)} m.`,
    );
  } else sentences.push('No common points: the grid was not fitted to the map.');
  if (summary.season_shifts.length > 0)
    sentences.push(
      'Season shifts: control observed in both seasons, later coordinates turned and shifted on the earlier ones with scale 1.',
    );
  sentences.push(
    mapGrid.source === null
      ? 'Point scale and convergence are not known here.'
      : `Point scale ${shown(summary.point_scale, 10)}${summary.norths.convergence_deg === null ? '' : ` and convergence ${shown(summary.norths.convergence_deg, 6)}°`} from ${mapGrid.source} (transverse Mercator: Krüger 1912, Karney 2011).`,
    'Convergence is positive where true_north lies west of map_grid_north: azimuth from map_grid_north = azimuth from true_north − convergence; true = magnetic + declination, east positive.',
    `No finds and no window enter (dug area here: ${shown(sample.windowAreaM2, 8)} m²).`,
  );
  return sentences.join(' ');
}

/** Sentences a reader must see beside the numbers. */
export function cautionsOf(grid: GridFit, own: Parameters): string[] {
  const { summary } = grid;
  const cautions = [
    'This is a proposal: no grid of the record was changed. Accept it by importing the new grid as a new data version.',
    ...(grid.fit
      ? scaleCautions(summary, own)
      : ['There are no common points with easting and northing: how the grid lies on the map was not checked.']),
  ];
  if (summary.n === 2)
    cautions.push(
      'Two common points fit exactly whatever their errors: residuals are 0 and nothing is checked; add a third.',
    );
  if (summary.mirrored && summary.swapped)
    cautions.push(
      `The grid turned over fits better (rms ${shown(summary.swapped.rms_m)} m against ${shown(summary.rms_m)} m): x and y are exchanged, or one axis is counted the other way. Both fit alike; the azimuth of site_north tells them apart (mirrored ${summary.mirrored.note.match(/-?[\d.]+°/)?.[0]}, exchanged ${summary.swapped.note.match(/-?[\d.]+°/)?.[0]}).`,
    );
  for (const { points, kind, rms_m } of summary.slips.slice(0, 3))
    cautions.push(
      `${points.join(' and ')}: ${kind}? Undone, the rms falls from ${shown(summary.rms_m)} to ${shown(rms_m)} m.`,
    );
  if (
    summary.worst &&
    summary.sigma0_m !== null &&
    summary.slips.length === 0 &&
    !summary.mirrored &&
    summary.worst.length_m > 3 * summary.sigma0_m
  )
    cautions.push(
      `${summary.worst.name} is ${millimetres(summary.worst.length_m)} off, more than three standard deviations of a coordinate: measure it again.`,
    );
  for (const shift of summary.season_shifts) cautions.push(...shiftCautions(shift));
  if (own.declination_deg !== null && own.declination_date === null)
    cautions.push('The declination has no date; it changes by some tenths of a degree a year.');
  if (summary.norths.declination_deg !== null && summary.norths.convergence_deg === null)
    cautions.push('magnetic_north is not brought to map_grid_north: the convergence is not known; give lon and lat.');
  return cautions;
}

/** Never silent scaling: which scale was used, and what it is worth over the site. */
function scaleCautions(summary: Summary, own: Parameters): string[] {
  const extent = summary.extent_m ?? 0;
  const free = summary.fitted_scale ?? 1;
  const used =
    own.fixed_scale === null
      ? `The fitted scale ${shown(free, 8)} was used: ${shown(1000 * extent * (free - 1), 3)} mm over the ${shown(extent, 3)} m of the site beside scale 1.`
      : `The scale was held at ${own.fixed_scale}; fitted it would be ${shown(free, 8)}.`;
  if (summary.point_scale === null || summary.scale_departure_mm === null) {
    return [
      `${used} Whether that is the projection cannot be told without its point scale: give point_scale, or lon and lat.`,
    ];
  }
  const departure = `From the point scale of the projection, ${shown(summary.point_scale, 8)}, the fitted scale departs by ${shown(summary.scale_departure_mm, 3)} mm over the site`;
  const sigma = summary.sigma?.scale;
  if (own.fixed_scale !== null || sigma === undefined || sigma === 0) return [`${used} ${departure}.`];
  const times = Math.abs(free - summary.point_scale) / sigma;
  return [
    `${used} ${departure}, ${times.toFixed(1)} of its standard deviations${times > 3 ? ': that is no projection; look for a stretched tape, a wrong CRS or a wrong point before accepting it' : ''}.`,
  ];
}

function shiftCautions(shift: Summary['season_shifts'][number]): string[] {
  const size = Math.hypot(shift.mean_shift_x_m, shift.mean_shift_y_m);
  const where = `Coordinates of ${shift.from_season} lie ${millimetres(size)} from those of ${shift.to_season} on average over ${shift.n} control ${shift.n === 1 ? 'point' : 'points'}`;
  if (shift.sigma_shift_m === null)
    return [
      `${where}; ${shift.n === 1 ? 'with one point neither turn nor error can be told' : 'its error cannot be told'}.`,
    ];
  if (size > 3 * shift.sigma_shift_m)
    return [`${where}, more than three standard deviations: bring them to one grid before comparing the seasons.`];
  return [`${where}, within three standard deviations (turned by ${shown(shift.rotation_deg, 3)}°).`];
}

/** The answer in one line, for the drawing. */
export function answerLine(summary: Summary): string {
  if (summary.rotation_deg !== null) {
    return `rotation ${shown(summary.rotation_deg, 7)}° anticlockwise, scale ${shown(summary.scale, 8)} (${summary.scale_used}), rms ${millimetres(summary.rms_m ?? 0)} at ${summary.n} common points`;
  }
  return summary.season_shifts
    .map(
      (shift) =>
        `${shift.from_season} to ${shift.to_season}: shift ${shown(shift.tx_m, 3)}, ${shown(shift.ty_m, 3)} m, rotation ${shown(shift.rotation_deg, 3)}° at ${shift.n} control points`,
    )
    .join('; ');
}
