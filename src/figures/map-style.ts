import { classColours, day, linePatterns } from './palette.js';

/** One layer of tiles as a style needs to know it; addresses are absolute and given by the caller. */
export interface TileLayer {
  /** id of the collection; the drawing order and look of the known ones follow from it */
  readonly id: string;
  readonly title: string;
  readonly geometryType: 'point' | 'line' | 'polygon';
  /** tile template with {z}, {x}, {y}, or the address of a TileJSON document */
  readonly source: { readonly tiles: string } | { readonly tileJson: string };
  /** last zoom the tiles are cut for; nearer zooms stretch it */
  readonly maxZoom: number;
  /** name of the layer inside the tiles; the id when not given */
  readonly sourceLayer?: string;
  /** west, south, east, north in degrees: outside nothing is asked for */
  readonly bounds?: readonly [number, number, number, number];
  /** the property holding the class, when the layer has one */
  readonly classProperty?: string;
  /** the property holding the season, when the layer is drawn by season */
  readonly seasonProperty?: string;
}

/** One colour of the legend: a class, or several (a function, a material) under one title. */
export interface ClassKey {
  readonly title: string;
  readonly classes: readonly string[];
}

export interface MapStyleRequest {
  /** name of the style: the site's or the collection's title */
  readonly name: string;
  /** in any order; what is drawn over what follows from the layers themselves */
  readonly layers: readonly TileLayer[];
  /** at most eight get a colour, in the palette's order; all others are drawn in quiet ink */
  readonly classes?: readonly ClassKey[];
  /** seasons in order of time: each gets its line pattern */
  readonly seasons?: readonly string[];
}

type Expression = readonly unknown[];

/** A style document (version 8) for tile renderers and GIS desktops: no fonts, no sprites, nothing fetched but tiles. */
export interface MapStyle {
  readonly version: 8;
  readonly name: string;
  readonly sources: Readonly<Record<string, StyleSource>>;
  readonly layers: readonly StyleLayer[];
}

export interface StyleSource {
  readonly type: 'vector';
  readonly tiles?: readonly string[];
  readonly url?: string;
  readonly minzoom: number;
  readonly maxzoom: number;
  readonly bounds?: readonly number[];
}

export interface StyleLayer {
  readonly id: string;
  readonly type: 'background' | 'fill' | 'line' | 'circle';
  readonly source?: string;
  readonly 'source-layer'?: string;
  readonly minzoom?: number;
  readonly filter?: Expression;
  readonly layout?: Readonly<Record<string, unknown>>;
  readonly paint: Readonly<Record<string, unknown>>;
  readonly metadata?: Readonly<Record<string, string>>;
}

/**
 * Style of a site's or a collection's tiles: paper below, ground, hull, then records; classes by colour, seasons by
 * line pattern. All layers show from zoom 0: some desktops never draw a layer that starts above its source.
 */
export function mapStyle(request: MapStyleRequest): MapStyle {
  const ordered = request.layers
    .map((layer, given) => ({ layer, given, place: place(layer) }))
    .sort((a, b) => a.place - b.place || a.given - b.given)
    .map(({ layer }) => layer);
  return {
    version: 8,
    name: request.name,
    sources: Object.fromEntries(ordered.map((layer) => [layer.id, source(layer)])),
    layers: [
      { id: 'paper', type: 'background', paint: { 'background-color': day.paper } },
      ...ordered.flatMap((layer) => drawn(layer, request)),
    ],
  };
}

/** Colour of each class in the given keys, for legends beside a map; classes without a key are left out. */
export function classLegend(keys: readonly ClassKey[]): { readonly title: string; readonly colour: string }[] {
  return keys.slice(0, classColours.length).map((key, k) => ({ title: key.title, colour: classColours[k] }));
}

/** From the ground up; a collection we do not know (a result) lies over the ground by its geometry. */
const order = [
  'bathymetry',
  'bathymetry-contours',
  'excavated-areas',
  'grid-squares',
  'contexts',
  'deposit-bottom',
  'deposit-top',
  'thickness',
  'deposit-bottom-contours',
  'deposit-top-contours',
  'thickness-contours',
  'hull-areas',
  'hull-lines',
  'ship-axes',
  'find-areas',
  'refits',
  'find-lines',
  'concretions',
  'levels',
  'grid-nodes',
  'finds',
  'control-points',
];

function place(layer: TileLayer): number {
  const known = order.indexOf(layer.id);
  if (known >= 0) return known;
  return order.indexOf({ polygon: 'contexts', line: 'refits', point: 'finds' }[layer.geometryType]) + 0.5;
}

function source(layer: TileLayer): StyleSource {
  const from = 'tiles' in layer.source ? { tiles: [layer.source.tiles] } : { url: layer.source.tileJson };
  const bounds = layer.bounds === undefined ? {} : { bounds: layer.bounds };
  return { type: 'vector', ...from, minzoom: 0, maxzoom: layer.maxZoom, ...bounds };
}

interface Look {
  readonly colour: string;
  readonly widthPx?: number;
  readonly dash?: readonly number[];
  readonly fillOpacity?: number;
  readonly radiusPx?: number;
  /** drawn as an open circle */
  readonly hollow?: true;
}

const looks: Readonly<Record<string, Look>> = {
  // the outline of a survey that reaches far beyond the site: a fill would drown the paper
  bathymetry: { colour: day.rule, widthPx: 0.8, fillOpacity: 0 },
  'bathymetry-contours': { colour: day.rule, widthPx: 0.6 },
  'excavated-areas': { colour: '#ffffff', fillOpacity: 0.9, widthPx: 1.2 },
  'grid-squares': { colour: day.rule, widthPx: 0.5, fillOpacity: 0 },
  contexts: { colour: day.warning, widthPx: 1.2, dash: [3, 2], fillOpacity: 0.08 },
  'deposit-bottom': { colour: '#435b6c', widthPx: 0.8, dash: [4, 2], fillOpacity: 0 },
  'deposit-top': { colour: '#435b6c', widthPx: 0.8, fillOpacity: 0 },
  thickness: { colour: '#2171b5', widthPx: 0.8, fillOpacity: 0 },
  'deposit-bottom-contours': { colour: '#435b6c', widthPx: 0.6, dash: [4, 2] },
  'deposit-top-contours': { colour: '#435b6c', widthPx: 0.6 },
  'thickness-contours': { colour: '#2171b5', widthPx: 0.8 },
  'hull-areas': { colour: day.ink, fillOpacity: 0.1, widthPx: 1.4 },
  'hull-lines': { colour: day.ink, widthPx: 2 },
  'ship-axes': { colour: day.ink, widthPx: 0.8, dash: [8, 2, 1, 2] },
  'find-areas': { colour: day.quiet, fillOpacity: 0.12, widthPx: 0.8, dash: [2, 2] },
  refits: { colour: day.quiet, widthPx: 0.5 },
  'find-lines': { colour: day.quiet, widthPx: 2.5 },
  concretions: { colour: day.ink, radiusPx: 3.5, hollow: true },
  levels: { colour: day.quiet, radiusPx: 1.5 },
  'grid-nodes': { colour: day.quiet, radiusPx: 1.5 },
  finds: { colour: day.quiet, radiusPx: 2.5 },
  'control-points': { colour: day.accent, radiusPx: 5, hollow: true },
};
const resultLook: Look = { colour: day.accent, widthPx: 1.4, radiusPx: 3, fillOpacity: 0.25 };

function drawn(layer: TileLayer, request: MapStyleRequest): StyleLayer[] {
  const look = looks[layer.id] ?? resultLook;
  const colour = classColour(layer, request, look.colour);
  const common = (suffix: string) => ({
    id: suffix === '' ? layer.id : `${layer.id}-${suffix}`,
    source: layer.id,
    'source-layer': layer.sourceLayer ?? layer.id,
    metadata: { 'wreckfield:collection': layer.id, 'wreckfield:title': layer.title },
  });
  switch (layer.geometryType) {
    case 'point':
      return [{ ...common(''), type: 'circle', paint: circlePaint(look, colour) }];
    case 'line':
      return seasonLines(layer, request, { common, look, colour, suffix: '' });
    case 'polygon': {
      // planned or abandoned ground must not look dug
      const opacity =
        layer.id === 'excavated-areas'
          ? ['match', ['coalesce', ['get', 'progress'], ''], ['planned', 'opened', 'abandoned'], 0, look.fillOpacity]
          : (look.fillOpacity ?? 0);
      const outlineColour = layer.id === 'excavated-areas' ? day.quiet : colour;
      return [
        // an invisible fill stays: it is what a pointer hits
        {
          ...common(''),
          type: 'fill',
          paint: { 'fill-color': colour, 'fill-opacity': opacity, 'fill-antialias': false },
        },
        ...seasonLines(layer, request, { common, look, colour: outlineColour, suffix: 'edge' }),
      ];
    }
  }
}

interface LineRequest {
  readonly common: (suffix: string) => Pick<StyleLayer, 'id' | 'source' | 'source-layer' | 'metadata'>;
  readonly look: Look;
  readonly colour: string | Expression;
  readonly suffix: string;
}

/** Lines of a layer; by season they are one layer each, since a dash pattern cannot depend on a property everywhere. */
function seasonLines(
  layer: TileLayer,
  request: MapStyleRequest,
  { common, look, colour, suffix }: LineRequest,
): StyleLayer[] {
  const paint = (dash: readonly number[]) => ({
    'line-color': colour,
    'line-width': widening(look.widthPx ?? 1),
    ...(dash.length === 0 ? {} : { 'line-dasharray': dash }),
  });
  const line = (name: string, dash: readonly number[], filter?: Expression): StyleLayer => ({
    ...common(name),
    type: 'line',
    layout: { 'line-join': 'round' },
    paint: paint(dash),
    ...(filter === undefined ? {} : { filter }),
  });
  const seasons = request.seasons ?? [];
  if (layer.seasonProperty === undefined || seasons.length === 0) return [line(suffix, look.dash ?? [])];
  const season: Expression = ['to-string', ['get', layer.seasonProperty]];
  const named = (name: string) => (suffix === '' ? `season-${name}` : `${suffix}-season-${name}`);
  return [
    ...seasons.map((s, k) => line(named(s), linePatterns[k % linePatterns.length], ['==', season, s])),
    line(named('other'), [1, 3], ['!', ['in', season, ['literal', seasons]]]),
  ];
}

function classColour(layer: TileLayer, request: MapStyleRequest, other: string): string | Expression {
  const keys = (request.classes ?? []).slice(0, classColours.length);
  if (layer.classProperty === undefined) return other;
  const seen = new Set<string>();
  const cases = keys.flatMap((key, k) => {
    // a class may be named once only: the first key holds it
    const fresh = key.classes.filter((c) => !seen.has(c) && seen.add(c));
    return fresh.length === 0 ? [] : [fresh, classColours[k]];
  });
  return cases.length === 0 ? other : ['match', ['get', layer.classProperty], ...cases, other];
}

function circlePaint(look: Look, colour: string | Expression): Record<string, unknown> {
  const radius = widening(look.radiusPx ?? 2.5);
  if (look.hollow) {
    return {
      'circle-radius': radius,
      'circle-color': day.paper,
      'circle-opacity': 0.01,
      'circle-stroke-color': colour,
      'circle-stroke-width': 1.5,
    };
  }
  // the thin ink edge carries the contrast of the pale colours
  return {
    'circle-radius': radius,
    'circle-color': colour,
    'circle-stroke-color': day.ink,
    'circle-stroke-width': ['interpolate', ['linear'], ['zoom'], 18, 0, 20, 0.6],
  };
}

/** Thin over the whole site, full at 1 : 200, half as much again at 1 : 50. */
function widening(px: number): Expression {
  return ['interpolate', ['linear'], ['zoom'], 16, px * 0.4, 20, px, 23, px * 1.6];
}
