import { shapes, tableOf, wordReader } from '../columns.js';
import type { FeatureTable } from '../feature-table.js';
import type { Survey } from '../survey.js';

/** The ship's axis from after end to bow end, with what is certain about it. */
export function publishedShipAxes(survey: Survey): FeatureTable | null {
  const axis = survey.site.ship_axis;
  if (!axis) return null;
  const [ax, ay] = axis.after_end;
  const [bx, by] = axis.bow_end;
  const bearing = (Math.atan2(bx - ax, by - ay) * 180) / Math.PI;
  return tableOf({
    name: 'ship-axes',
    fields: [
      { name: 'length_m', title: 'Length', type: 'number', unit: 'm' },
      {
        name: 'bearing_from_site_north',
        title: 'Bearing after end to bow, from site_north',
        type: 'number',
        unit: 'deg',
      },
      { name: 'certainty', title: 'Certainty of the bow end', type: 'text' },
      { name: 'heel_deg', title: 'Heel', type: 'number', unit: 'deg' },
      { name: 'heel_to', title: 'Heeled to', type: 'text' },
    ],
    rows: [
      {
        length_m: Math.round(Math.hypot(bx - ax, by - ay) * 1000) / 1000,
        bearing_from_site_north: Math.round(((bearing + 360) % 360) * 100) / 100,
        certainty: axis.certainty,
        heel_deg: axis.heel_deg,
        heel_to: axis.heel_to,
      },
    ],
    geometry: shapes('line', [[{ ring: Float64Array.of(ax, ay, bx, by) }]]),
  });
}

/** Joins between sherds as lines from find to find; a join with a find that has no point keeps its row without a line. */
export function publishedRefits(survey: Survey): FeatureTable | null {
  const refits = survey.table('refits');
  if (!refits) return null;
  const a = wordReader(refits, 'find_a');
  const b = wordReader(refits, 'find_b');
  const kind = wordReader(refits, 'kind');
  const certainty = wordReader(refits, 'certainty');
  const { xy } = survey.placed;
  const lines: { ring: Float64Array }[][] = [];
  const rows = Array.from({ length: refits.length }, (_, i) => {
    const from = survey.findRow(a(i) ?? '');
    const to = survey.findRow(b(i) ?? '');
    const ends =
      from === undefined || to === undefined
        ? null
        : Float64Array.of(xy[2 * from], xy[2 * from + 1], xy[2 * to], xy[2 * to + 1]);
    const known = ends !== null && !ends.some(Number.isNaN);
    lines.push(known ? [{ ring: ends }] : []);
    return {
      find_a: a(i),
      find_b: b(i),
      kind: kind(i),
      certainty: certainty(i),
      distance_m: known ? Math.round(Math.hypot(ends[2] - ends[0], ends[3] - ends[1]) * 1000) / 1000 : null,
    };
  });
  return tableOf({
    name: 'refits',
    fields: [
      { name: 'find_a', title: 'Find', type: 'text', distinct: true },
      { name: 'find_b', title: 'Joins find', type: 'text', distinct: true },
      { name: 'kind', title: 'Kind of join', type: 'text' },
      { name: 'certainty', title: 'Certainty', type: 'text' },
      { name: 'distance_m', title: 'Distance between them', type: 'number', unit: 'm' },
    ],
    rows,
    geometry: shapes('line', lines),
    ids: refits.ids,
  });
}
