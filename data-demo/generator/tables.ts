/** Plain text files: rows of CSV and GeoJSON in site-grid metres, with the same bytes on every machine. */
export type Cell = string | number | boolean | null;

/** One CSV file; rows carry ready-made texts or whole numbers, null is unknown. LF line ends. */
export function csvText(columns: readonly string[], rows: readonly Readonly<Record<string, Cell>>[]): string {
  const known = new Set(columns);
  const lines = [columns.join(',')];
  for (const row of rows) {
    for (const name of Object.keys(row)) {
      if (!known.has(name)) throw new Error(`a row has the column ${name}, which the file has not`);
    }
    lines.push(columns.map((name) => quoted(row[name] ?? null)).join(','));
  }
  return `${lines.join('\n')}\n`;
}

function quoted(cell: Cell): string {
  if (cell === null) return '';
  const text = String(cell);
  return /[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** A number with fixed decimals, without a negative zero; null stays null. */
export function fixed(value: number | null, decimals: number): string | null {
  if (value === null) return null;
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace('-', '') : text;
}

/** A feature of a GeoJSON file. */
export interface MapFeature {
  readonly properties: Readonly<Record<string, Cell>>;
  readonly geometry:
    | { readonly type: 'Polygon'; readonly coordinates: readonly (readonly (readonly [number, number])[])[] }
    | { readonly type: 'LineString'; readonly coordinates: readonly (readonly [number, number])[] };
}

/** One GeoJSON file in metres of the site grid, which its foreign member says; a feature to a line. */
export function geojsonText(name: string, features: readonly MapFeature[]): string {
  const lines = features.map((feature) => JSON.stringify({ type: 'Feature', ...feature }));
  return `{"type":"FeatureCollection","name":"${name}","coordinate_space":"site-grid","features":[\n${lines.join(',\n')}\n]}\n`;
}

/** A JSON file, indented. */
export function jsonText(value: unknown): string {
  return `${JSON.stringify(value, null, 2)}\n`;
}
