import { describe, expect, test } from 'vitest';
import { tableOf } from '../../src/domain/columns.js';
import type { FeatureTable, Value } from '../../src/domain/feature-table.js';
import type { Field } from '../../src/domain/fields.js';
import { compileFilter } from '../../src/filter/compile.js';
import { parseFilter } from '../../src/filter/parse.js';

// The examples of OGC CQL2 1.0 (21-065r2), its text and JSON forms side by side, written down from memory; positions
// are called `geometry` here. Each with a record it must find and one it must not.

interface Example {
  readonly text: string;
  readonly json: unknown;
  readonly found: Readonly<Record<string, Value>>;
  readonly other: Readonly<Record<string, Value>>;
  /** where the two records lie, longitude and latitude */
  readonly places?: readonly [readonly [number, number], readonly [number, number]];
}

const property = (name: string) => ({ property: name });
const op = (name: string, ...args: unknown[]) => ({ op: name, args });
const square = [
  [-118, 33.8],
  [-117.9, 33.8],
  [-117.9, 34],
  [-118, 34],
  [-118, 33.8],
];

const examples: Readonly<Record<string, readonly Example[]>> = {
  'basic comparisons': [
    {
      text: "landsat:scene_id = 'LC82030282019133LGN00'",
      json: op('=', property('landsat:scene_id'), 'LC82030282019133LGN00'),
      found: { 'landsat:scene_id': 'LC82030282019133LGN00' },
      other: { 'landsat:scene_id': 'LC82030282019133LGN01' },
    },
    {
      text: "cityName='Toronto'",
      json: op('=', property('cityName'), 'Toronto'),
      found: { cityName: 'Toronto' },
      other: { cityName: null },
    },
    { text: 'floors>5', json: op('>', property('floors'), 5), found: { floors: 6 }, other: { floors: 5 } },
    { text: 'taxes<=500', json: op('<=', property('taxes'), 500), found: { taxes: 500 }, other: { taxes: 500.01 } },
    {
      text: 'windSpeed <> 3',
      json: op('<>', property('windSpeed'), 3),
      found: { windSpeed: 4 },
      other: { windSpeed: 3 },
    },
    {
      text: 'swimming_pool=true',
      json: op('=', property('swimming_pool'), true),
      found: { swimming_pool: true },
      other: { swimming_pool: false },
    },
    {
      text: 'geophys:SURVEY_NAME IS NOT NULL',
      json: op('not', op('isNull', property('geophys:SURVEY_NAME'))),
      found: { 'geophys:SURVEY_NAME': 'calcutta' },
      other: { 'geophys:SURVEY_NAME': null },
    },
    {
      text: "updated >= DATE('2012-08-10')",
      json: op('>=', property('updated'), { date: '2012-08-10' }),
      found: { updated: '2012-08-10' },
      other: { updated: '2012-08-09' },
    },
  ],
  'logical operators': [
    {
      text: "swimming_pool=true AND (floors>5 OR material LIKE 'brick%' OR material LIKE '%brick')",
      json: op(
        'and',
        op('=', property('swimming_pool'), true),
        op(
          'or',
          op('>', property('floors'), 5),
          op('like', property('material'), 'brick%'),
          op('like', property('material'), '%brick'),
        ),
      ),
      found: { swimming_pool: true, floors: 2, material: 'brickwork' },
      other: { swimming_pool: true, floors: 2, material: 'wood' },
    },
    {
      text: "(floors>5 AND material='brick') OR swimming_pool=true",
      json: op(
        'or',
        op('and', op('>', property('floors'), 5), op('=', property('material'), 'brick')),
        op('=', property('swimming_pool'), true),
      ),
      found: { floors: 6, material: 'brick', swimming_pool: false },
      other: { floors: 6, material: 'wood', swimming_pool: false },
    },
    {
      text: 'NOT (floors<5) OR swimming_pool=true',
      json: op('or', op('not', op('<', property('floors'), 5)), op('=', property('swimming_pool'), true)),
      found: { floors: 5, swimming_pool: false },
      other: { floors: 4, swimming_pool: false },
    },
    {
      text: "(owner LIKE 'mike%' OR owner LIKE 'Mike%') AND floors<4",
      json: op(
        'and',
        op('or', op('like', property('owner'), 'mike%'), op('like', property('owner'), 'Mike%')),
        op('<', property('floors'), 4),
      ),
      found: { owner: 'Mike Smith', floors: 3 },
      other: { owner: 'MIKE', floors: 3 },
    },
  ],
  'advanced comparisons': [
    {
      text: "eo:instrument LIKE 'OLI%'",
      json: op('like', property('eo:instrument'), 'OLI%'),
      found: { 'eo:instrument': 'OLI-2' },
      other: { 'eo:instrument': 'ETM' },
    },
    {
      text: "owner NOT LIKE '%Mike%'",
      json: op('not', op('like', property('owner'), '%Mike%')),
      found: { owner: 'Anna' },
      other: { owner: 'young Mike II' },
    },
    {
      text: 'depth BETWEEN 100.0 AND 150.0',
      json: op('between', property('depth'), 100, 150),
      found: { depth: 150 },
      other: { depth: 150.001 },
    },
    {
      text: 'eo:cloud_cover NOT BETWEEN 0.1 AND 0.2',
      json: op('not', op('between', property('eo:cloud_cover'), 0.1, 0.2)),
      found: { 'eo:cloud_cover': 0.25 },
      other: { 'eo:cloud_cover': 0.1 },
    },
    {
      text: "cityName IN ('Toronto','Frankfurt','Tokyo','New York')",
      json: op('in', property('cityName'), ['Toronto', 'Frankfurt', 'Tokyo', 'New York']),
      found: { cityName: 'Tokyo' },
      other: { cityName: 'Kyoto' },
    },
    {
      text: 'category NOT IN (1,2,3,4)',
      json: op('not', op('in', property('category'), [1, 2, 3, 4])),
      found: { category: 5 },
      other: { category: 4 },
    },
  ],
  'without case and accents': [
    {
      text: "CASEI(geophys:SURVEY_NAME) LIKE CASEI('%calcutta%')",
      json: op('like', op('casei', property('geophys:SURVEY_NAME')), op('casei', '%calcutta%')),
      found: { 'geophys:SURVEY_NAME': 'Great CALCUTTA survey' },
      other: { 'geophys:SURVEY_NAME': 'Kolkata' },
    },
    {
      text: "CASEI(road_class) IN (CASEI('Οδος'),CASEI('Straße'))",
      json: op('in', op('casei', property('road_class')), [op('casei', 'Οδος'), op('casei', 'Straße')]),
      found: { road_class: 'STRASSE' },
      other: { road_class: 'Weg' },
    },
    {
      text: "ACCENTI(etat_vol) = ACCENTI('débárquér')",
      json: op('=', op('accenti', property('etat_vol')), op('accenti', 'débárquér')),
      found: { etat_vol: 'debarquer' },
      other: { etat_vol: 'embarquer' },
    },
    {
      text: "CASEI(ACCENTI(name)) = CASEI(ACCENTI('ÉCLAIR'))",
      json: op('=', op('casei', op('accenti', property('name'))), op('casei', op('accenti', 'ÉCLAIR'))),
      found: { name: 'eclair' },
      other: { name: 'clair' },
    },
  ],
  'arithmetic, and property against property': [
    {
      text: 'vehicle_height > (bridge_clearance-1)',
      json: op('>', property('vehicle_height'), op('-', property('bridge_clearance'), 1)),
      found: { vehicle_height: 4, bridge_clearance: 4.5 },
      other: { vehicle_height: 4, bridge_clearance: 5 },
    },
    {
      text: 'value = field ^ 2 * 3 + 10 DIV 4 % 3',
      json: op(
        '=',
        property('value'),
        op('+', op('*', op('^', property('field'), 2), 3), op('%', op('div', 10, 4), 3)),
      ),
      found: { value: 14, field: 2 },
      other: { value: 15, field: 2 },
    },
    {
      text: 'balance - 150.0 > -1 / 2',
      json: op('>', op('-', property('balance'), 150), op('/', -1, 2)),
      found: { balance: 150 },
      other: { balance: 149 },
    },
  ],
  'spatial functions': [
    {
      text: 'S_WITHIN(geometry,POLYGON((-118 33.8,-117.9 33.8,-117.9 34,-118 34,-118 33.8)))',
      json: op('s_within', property('geometry'), { type: 'Polygon', coordinates: [square] }),
      found: {},
      other: {},
      places: [
        [-117.95, 33.9],
        [-118, 33.9],
      ],
    },
    {
      text: 'floors>5 AND S_INTERSECTS(geometry,BBOX(-118,33.8,-117.9,34))',
      json: op(
        'and',
        op('>', property('floors'), 5),
        op('s_intersects', property('geometry'), { bbox: [-118, 33.8, -117.9, 34] }),
      ),
      found: { floors: 7 },
      other: { floors: 7 },
      places: [
        [-118, 34],
        [-118.001, 34],
      ],
    },
    {
      text: 'S_DISJOINT(geometry,MULTIPOLYGON(((-118 33.8,-117.9 33.8,-117.9 34,-118 34,-118 33.8))))',
      json: op('s_disjoint', property('geometry'), { type: 'MultiPolygon', coordinates: [[square]] }),
      found: {},
      other: {},
      places: [
        [-117.89, 33.9],
        [-117.9, 33.9],
      ],
    },
    {
      text: 'S_TOUCHES(geometry,LINESTRING(-118 33.8,-117.9 34))',
      json: op('s_touches', property('geometry'), { type: 'LineString', coordinates: [square[0], square[2]] }),
      found: {},
      other: {},
      places: [
        [-118, 33.8],
        [-117.95, 33.9],
      ],
    },
    {
      text: 'S_EQUALS(POINT(-118 33.8),geometry)',
      json: op('s_equals', { type: 'Point', coordinates: [-118, 33.8] }, property('geometry')),
      found: {},
      other: {},
      places: [
        [-118, 33.8],
        [-118, 33.80001],
      ],
    },
    {
      text: 'S_INTERSECTS(geometry,GEOMETRYCOLLECTION(POINT(-118 33.8),LINESTRING(-118 33.8,-117.9 34)))',
      json: op('s_intersects', property('geometry'), {
        type: 'GeometryCollection',
        geometries: [
          { type: 'Point', coordinates: [-118, 33.8] },
          { type: 'LineString', coordinates: [square[0], square[2]] },
        ],
      }),
      found: {},
      other: {},
      places: [
        [-117.95, 33.9],
        [-117.95, 33.901],
      ],
    },
    {
      text: 'S_CROSSES(LINESTRING(0 0,2 2),LINESTRING(0 2,2 0)) AND floors > 0',
      json: op(
        'and',
        op(
          's_crosses',
          {
            type: 'LineString',
            coordinates: [
              [0, 0],
              [2, 2],
            ],
          },
          {
            type: 'LineString',
            coordinates: [
              [0, 2],
              [2, 0],
            ],
          },
        ),
        op('>', property('floors'), 0),
      ),
      found: { floors: 1 },
      other: { floors: 0 },
    },
  ],
  'temporal functions': [
    {
      text: "T_BEFORE(built, DATE('2015-01-01'))",
      json: op('t_before', property('built'), { date: '2015-01-01' }),
      found: { built: '2014-12-31' },
      other: { built: '2015-01-01' },
    },
    {
      text: "T_AFTER(built, DATE('2012-06-05'))",
      json: op('t_after', property('built'), { date: '2012-06-05' }),
      found: { built: '2012-06-06' },
      other: { built: '2012-06-05' },
    },
    {
      text: "T_DURING(INTERVAL(starts_at, ends_at), INTERVAL('2017-06-10T07:30:00Z', '2017-06-11T10:30:00Z'))",
      json: op(
        't_during',
        { interval: [property('starts_at'), property('ends_at')] },
        { interval: ['2017-06-10T07:30:00Z', '2017-06-11T10:30:00Z'] },
      ),
      found: { starts_at: '2017-06-10T08:00:00Z', ends_at: '2017-06-10T09:00:00Z' },
      other: { starts_at: '2017-06-10T07:30:00Z', ends_at: '2017-06-10T09:00:00Z' },
    },
    {
      text: "T_CONTAINS(INTERVAL('2000-01-01T00:00:00Z', '2005-01-10T01:01:01.393216Z'), INTERVAL(starts_at, ends_at))",
      json: op(
        't_contains',
        { interval: ['2000-01-01T00:00:00Z', '2005-01-10T01:01:01.393216Z'] },
        { interval: [property('starts_at'), property('ends_at')] },
      ),
      found: { starts_at: '2000-01-01T00:00:01Z', ends_at: '2005-01-10T01:01:01Z' },
      other: { starts_at: '2000-01-01T00:00:00Z', ends_at: '2005-01-10T01:01:01Z' },
    },
    {
      text: "T_INTERSECTS(INTERVAL(starts_at, ends_at), INTERVAL('1991-10-07', '2010-02-10T05:29:20.073225Z'))",
      json: op(
        't_intersects',
        { interval: [property('starts_at'), property('ends_at')] },
        { interval: ['1991-10-07', '2010-02-10T05:29:20.073225Z'] },
      ),
      found: { starts_at: '2010-02-10T05:29:20Z', ends_at: '2011-01-01T00:00:00Z' },
      other: { starts_at: '2010-02-10T05:29:21Z', ends_at: '2011-01-01T00:00:00Z' },
    },
    {
      text: "T_EQUALS(updated_at, DATE('1851-04-29'))",
      json: op('t_equals', property('updated_at'), { date: '1851-04-29' }),
      found: { updated_at: '1851-04-29' },
      other: { updated_at: '1851-04-30' },
    },
    {
      text: "T_MEETS(INTERVAL('2005-01-10', '2010-02-10'), INTERVAL(starts_on, ends_on))",
      json: op(
        't_meets',
        { interval: ['2005-01-10', '2010-02-10'] },
        { interval: [property('starts_on'), property('ends_on')] },
      ),
      found: { starts_on: '2010-02-10', ends_on: '2010-03-01' },
      other: { starts_on: '2010-02-11', ends_on: '2010-03-01' },
    },
    {
      text: "T_DISJOINT(INTERVAL('..', '2005-01-10T01:01:01.393216Z'), INTERVAL(starts_at, ends_at))",
      json: op(
        't_disjoint',
        { interval: ['..', '2005-01-10T01:01:01.393216Z'] },
        { interval: [property('starts_at'), property('ends_at')] },
      ),
      found: { starts_at: '2005-01-10T01:01:02Z', ends_at: '2006-01-01T00:00:00Z' },
      other: { starts_at: '2005-01-10T01:01:01Z', ends_at: '2006-01-01T00:00:00Z' },
    },
  ],
};

function fieldOf(name: string, value: Value): Field {
  const type =
    typeof value === 'number'
      ? 'number'
      : typeof value === 'boolean'
        ? 'boolean'
        : /^\d{4}-\d{2}-\d{2}T/.test(String(value))
          ? 'date-time'
          : /^\d{4}-\d{2}-\d{2}$/.test(String(value))
            ? 'date'
            : 'text';
  return { name, title: name, type };
}

function tableFor({ found, other, places }: Example): FeatureTable {
  const coordinates = Float64Array.from(
    (
      places ?? [
        [0, 0],
        [0, 0],
      ]
    ).flat(),
  );
  return tableOf({
    name: 'examples',
    fields: Object.entries(found).map(([name, value]) => fieldOf(name, value)),
    rows: [found, other],
    geometry: { type: 'point', coordinates },
  });
}

describe.each(Object.entries(examples))('%s', (_, list) => {
  test.each(list.map((example) => [example.text, example] as const))('%s', (_text, example) => {
    const plane = { axes: 'east-north', unit: 'degree' } as const;
    const table = tableFor(example);
    const places = () => (table.geometry as { coordinates: Float64Array }).coordinates;
    for (const expression of [
      parseFilter(example.text, 'cql2-text', plane),
      parseFilter(JSON.stringify(example.json), 'cql2-json', plane),
    ]) {
      const marks = compileFilter(expression, { table, unit: 'degree', places, unknownProperty: 'refuse' }).marks();
      expect([...marks]).toEqual([1, 0]);
    }
  });
});
