import { numbers, wordReader } from './columns.js';
import { type FeatureTable, valueAt } from './feature-table.js';
import type { ControlPoint, Measurement, SurveyReadings, TideReading } from './sample.js';
import type { Survey } from './survey.js';

/** Control points, tapes and tide readings of a site, all seasons; null when it has none of them. */
export function surveyReadings(survey: Survey): SurveyReadings | null {
  const control = survey.table('control-points');
  const measurements = survey.table('measurements');
  const tide = survey.table('tide');
  if (!control && !measurements && !tide) return null;
  return {
    control: control ? controlPoints(control) : [],
    measurements: measurements ? measurementRows(measurements) : [],
    tide: tide ? tideReadings(tide) : [],
    common: [],
  };
}

const eachRow = <T>(table: FeatureTable, make: (row: number) => T): T[] =>
  Array.from({ length: table.length }, (_, row) => make(row));

/** A point observed again in a later season stands as `CP1-S3`: the season behind the name is taken off, so that both are one point. */
function controlPoints(table: FeatureTable): ControlPoint[] {
  const name = wordReader(table, 'name');
  const kind = wordReader(table, 'class');
  const season = wordReader(table, 'season');
  // an adjustment rests on what was received, not on what an earlier one made of it
  const asReceived = (field: string) => (table.columns.has(`received_${field}`) ? `received_${field}` : field);
  const [x, y, z, sigma] = ['x', 'y', 'z', 'sigma'].map((field) => numbers(table, asReceived(field)));
  const listed = table.columns.get('listed');
  const rows = eachRow(table, (row) => row).filter((row) => !listed || valueAt(listed, row) !== false);
  return rows.map((row) => {
    const s = season(row);
    const written = name(row) ?? '';
    const plain = s !== null && written.endsWith(`-${s}`) ? written.slice(0, -s.length - 1) : written;
    return { name: plain, class: kind(row), x: x[row], y: y[row], z: z[row], sigma: sigma[row], season: s };
  });
}

function measurementRows(table: FeatureTable): Measurement[] {
  const word = (field: string) => wordReader(table, field);
  const [from, to, kind, unit, instrument, series, date, time] = [
    'from',
    'to',
    'kind',
    'unit',
    'instrument',
    'reading_series',
    'date',
    'time',
  ].map(word);
  const value = numbers(table, 'value');
  const sigma = numbers(table, 'sigma');
  return eachRow(table, (row) => {
    // a reading of one point may name it on either side
    const ends = [from(row), to(row)];
    return {
      row: row + 1,
      from: ends[1] === null ? null : ends[0],
      to: ends[1] ?? ends[0] ?? '',
      kind: kind(row) ?? '',
      value: value[row],
      unit: unit(row),
      sigma: sigma[row],
      instrument: instrument(row),
      series: series(row),
      date: date(row),
      time: time(row),
    };
  });
}

function tideReadings(table: FeatureTable): TideReading[] {
  const series = wordReader(table, 'reading_series');
  const start = wordReader(table, 'start_time');
  const end = wordReader(table, 'end_time');
  const [startDepth, endDepth, reference] = ['start_depth', 'end_depth', 'reference_depth'].map((field) =>
    numbers(table, field),
  );
  return eachRow(table, (row) => ({
    series: series(row) ?? '',
    startTime: start(row) ?? '',
    startDepth: startDepth[row],
    endTime: end(row) ?? '',
    endDepth: endDepth[row],
    referenceDepth: reference[row],
  }));
}
