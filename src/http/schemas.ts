type Json = Readonly<Record<string, unknown>>;

const text: Json = { type: 'string' };
const uri: Json = { type: 'string', format: 'uri' };
const dateTime: Json = { type: 'string', format: 'date-time' };
const whole: Json = { type: 'integer', minimum: 0 };
const ref = (name: string): Json => ({ $ref: `#/components/schemas/${name}` });
const list = (items: Json): Json => ({ type: 'array', items });
const links = list(ref('link'));

function object(
  properties: Readonly<Record<string, Json>>,
  required: readonly string[] = Object.keys(properties),
): Json {
  return { type: 'object', required: [...required], properties };
}

const box: Json = { type: 'array', minItems: 4, maxItems: 6, items: { type: 'number' } };

const collection = object(
  {
    id: text,
    title: text,
    description: text,
    itemType: { type: 'string', enum: ['feature'] },
    extent: {
      type: 'object',
      properties: {
        spatial: object({ bbox: { type: 'array', minItems: 1, items: box }, crs: uri }, ['bbox']),
        temporal: object({
          interval: {
            type: 'array',
            minItems: 1,
            items: { type: 'array', minItems: 2, maxItems: 2, items: { ...dateTime, nullable: true } },
          },
        }),
      },
    },
    crs: list(uri),
    storageCrs: uri,
    itemCount: whole,
    links,
  },
  ['id', 'itemType', 'crs', 'links'],
);

const feature = object(
  {
    type: { type: 'string', enum: ['Feature'] },
    id: { type: 'integer' },
    geometry: { type: 'object', nullable: true, properties: { type: text, coordinates: { type: 'array', items: {} } } },
    properties: { type: 'object', additionalProperties: true },
    links,
  },
  ['type', 'id', 'geometry', 'properties'],
);

const statusInfo = object(
  {
    jobID: text,
    processID: text,
    type: { type: 'string', enum: ['process'] },
    status: { type: 'string', enum: ['accepted', 'running', 'successful', 'failed', 'dismissed'] },
    message: text,
    progress: { type: 'integer', minimum: 0, maximum: 100 },
    created: dateTime,
    started: dateTime,
    finished: dateTime,
    updated: dateTime,
    links,
  },
  ['jobID', 'processID', 'type', 'status', 'links'],
);

const processSummary = {
  id: text,
  version: text,
  title: text,
  description: text,
  keywords: list(text),
  jobControlOptions: list({ type: 'string', enum: ['sync-execute', 'async-execute', 'dismiss'] }),
  outputTransmission: list({ type: 'string', enum: ['value', 'reference'] }),
  links,
};

const described: Json = {
  type: 'object',
  additionalProperties: object({ title: text, description: text, schema: { type: 'object' } }, ['schema']),
};

const tilesetHead = { title: text, dataType: { type: 'string', enum: ['vector'] }, crs: uri, tileMatrixSetURI: uri };

const version = object({
  version: { type: 'integer', minimum: 1 },
  accepted_at: dateTime,
  content_hash: text,
  tables: list(object({ name: text, rows: whole })),
  set_aside: list(object({ file: text, rows: whole })),
  links,
});

const siteGrid: Json = {
  ...object({
    grid: text,
    title: text,
    proj: text,
    wkt2: { ...text, nullable: true },
    site_north_from_true_north_deg: { type: 'number' },
    deviation_m: { type: 'number', minimum: 0 },
  }),
  nullable: true,
};

const textOrNull: Json = { ...text, nullable: true };

const connectionSheet = object({
  title: text,
  site: text,
  data_version: { type: 'integer', minimum: 1 },
  features: object({ address: uri, landing_page: uri, crs: list(uri) }),
  vector_tiles: object({ whole_site: text, style: textOrNull, min_zoom: whole, max_zoom: whole, crs: uri }),
  metric_tiles: {
    ...object({
      id: text,
      crs: uri,
      tile_matrix_set: uri,
      whole_site: text,
      min_tile_matrix: whole,
      max_tile_matrix: whole,
    }),
    nullable: true,
  },
  collections: list(
    object({
      id: text,
      title: text,
      geometry_type: { ...text, nullable: true },
      features: uri,
      csv: uri,
      vector_tiles: textOrNull,
      tile_json: textOrNull,
      style: textOrNull,
      metric_tiles: textOrNull,
      coverage: textOrNull,
    }),
  ),
  coordinate_systems: object({
    map: object({ uri: textOrNull, title: text }),
    vertical: text,
    site_grid: siteGrid,
  }),
  downloads: list(object({ title: text, href: uri, type: text })),
  links,
});

/** Schemas of the documents, as the API description names them. */
export const schemas: Readonly<Record<string, Json>> = {
  link: object({ href: text, rel: text, type: text, title: text, templated: { type: 'boolean' } }, ['href', 'rel']),
  problem: object(
    {
      type: text,
      title: text,
      status: { type: 'integer' },
      detail: text,
      instance: text,
      errors: list(object({ parameter: text, message: text }, [])),
    },
    ['type', 'title', 'status', 'detail'],
  ),
  sites: object({ sites: list(object({ id: text, title: text, links })), links }),
  landingPage: object({ id: text, title: text, description: text, site_grid: siteGrid, links }, [
    'id',
    'title',
    'description',
    'links',
  ]),
  conformance: object({ conformsTo: list(uri) }),
  collection,
  collections: object({ links, collections: list(ref('collection')), site_grid: siteGrid }, ['links', 'collections']),
  jsonSchema: object({
    $schema: uri,
    $id: uri,
    type: { type: 'string', enum: ['object'] },
    properties: { type: 'object' },
  }),
  feature,
  featureCollection: object({
    type: { type: 'string', enum: ['FeatureCollection'] },
    features: list(ref('feature')),
    numberMatched: whole,
    numberReturned: whole,
    timeStamp: dateTime,
    links,
  }),
  featureList: object({ type: { type: 'string', enum: ['FeatureCollection'] }, features: list(ref('feature')) }),
  tilesets: object({ tilesets: list(object({ ...tilesetHead, links })), links }),
  tileset: object(
    {
      ...tilesetHead,
      tileMatrixSetLimits: list(
        object({ tileMatrix: text, minTileRow: whole, maxTileRow: whole, minTileCol: whole, maxTileCol: whole }),
      ),
      boundingBox: object({ lowerLeft: list({ type: 'number' }), upperRight: list({ type: 'number' }), crs: uri }),
      layers: list(
        object({ id: text, dataType: text, geometryDimension: { type: 'integer', minimum: 0, maximum: 2 } }),
      ),
      links,
    },
    ['dataType', 'crs', 'links', 'layers'],
  ),
  connectionSheet,
  tileMatrixSets: object({ tileMatrixSets: list(object({ id: text, title: text, uri, crs: uri, links })), links }),
  tileMatrixSet: object({
    id: text,
    title: text,
    crs: uri,
    tileMatrices: list(
      object({
        id: text,
        scaleDenominator: { type: 'number' },
        cellSize: { type: 'number' },
        pointOfOrigin: { type: 'array', minItems: 2, maxItems: 2, items: { type: 'number' } },
        tileWidth: whole,
        tileHeight: whole,
        matrixWidth: whole,
        matrixHeight: whole,
      }),
    ),
  }),
  tileJson: object({
    tilejson: { type: 'string', enum: ['3.0.0'] },
    tiles: { type: 'array', minItems: 1, items: text },
    vector_layers: list(object({ id: text, fields: { type: 'object', additionalProperties: text } })),
  }),
  styles: object({ default: text, styles: list(object({ id: text, title: text, links })), links }, ['styles']),
  processes: object({ processes: list(object(processSummary, ['id', 'version'])), links }),
  process: object({ ...processSummary, inputs: described, outputs: described }, [
    'id',
    'version',
    'inputs',
    'outputs',
    'links',
  ]),
  execute: {
    type: 'object',
    additionalProperties: false,
    properties: {
      inputs: { type: 'object', additionalProperties: true },
      outputs: {
        type: 'object',
        additionalProperties: object(
          {
            format: { type: 'object', properties: { mediaType: text } },
            transmissionMode: { type: 'string', enum: ['value', 'reference'], default: 'value' },
          },
          [],
        ),
      },
      response: { type: 'string', enum: ['raw', 'document'], default: 'raw' },
    },
  },
  results: { type: 'object', additionalProperties: true },
  statusInfo,
  jobs: object({ jobs: list(ref('statusInfo')), links }),
  version,
  versions: object({ versions: list(ref('version')), links }),
};
