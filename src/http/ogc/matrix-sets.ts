import { projectionOf } from '../../domain/crs.js';
import type { Box } from '../../math/rings.js';
import type { SurveyView } from '../../operations/service.js';
import { Problem } from '../../problems.js';
import { type MatrixSet, matrixSetDocument } from '../../tiles/matrix-set.js';
import { matrixSetOf, matrixSetsOf } from '../../tiles/site-matrix-set.js';
import type { Handler, Link, Request } from '../exchange.js';
import { REL, selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { clip } from '../query.js';

const address = (request: Request, set: MatrixSet): string => siteUrl(request, `/tileMatrixSets/${set.id}`);

/** What a tile matrix set is called in the world: its registered URI, or the address of our own. */
export function matrixSetUri(request: Request, set: MatrixSet): string {
  return set.uri ?? address(request, set);
}

/** The tile matrix set an address names. @throws Problem not-found */
export function namedMatrixSet(request: Request, { site }: SurveyView): MatrixSet {
  const id = request.params['tileMatrixSetId'];
  const set = matrixSetOf(site, id);
  if (set !== null) return set;
  const ids = matrixSetsOf(site).map((known) => known.id);
  throw new Problem('not-found', `there is no tile matrix set "${clip(id)}"; use ${ids.join(' or ')}`);
}

/** Link from a tileset to the definition of its tiles. */
export function schemeLink(request: Request, set: MatrixSet): Link {
  return { href: address(request, set), rel: `${REL}/tiling-scheme`, type: mediaTypeOf('json'), title: set.title };
}

/** A box of degrees in the coordinates of a tile matrix set: the box around its turned outline. */
export function boxIn(set: MatrixSet, [west, south, east, north]: Box): Box {
  if (set.takes === 'lon-lat') return [west, south, east, north];
  const { fromLonLat } = projectionOf(set.crs);
  const places = [west, (west + east) / 2, east].flatMap((lon) =>
    [south, (south + north) / 2, north].map((lat) => fromLonLat(lon, lat)),
  );
  const eastings = places.map(([e]) => e);
  const northings = places.map(([, n]) => n);
  return [Math.min(...eastings), Math.min(...northings), Math.max(...eastings), Math.max(...northings)];
}

/** The tile matrix sets in use. */
export const getTileMatrixSets: Handler = async (request, { service }) => {
  const { site } = await service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const links = selfLinks(request, ['json', 'html']);
  const tileMatrixSets = matrixSetsOf(site).map((set) => ({
    id: set.id,
    title: set.title,
    uri: matrixSetUri(request, set),
    crs: set.crs,
    links: [{ href: address(request, set), rel: 'self', type: mediaTypeOf('json'), title: set.title }],
  }));
  return { body: { tileMatrixSets, links }, links };
};

/** One tile matrix set. */
export const getTileMatrixSet: Handler = async (request, { service }) => {
  const survey = await service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const set = namedMatrixSet(request, survey);
  return { body: matrixSetDocument(set, matrixSetUri(request, set)), links: selfLinks(request, ['json', 'html']) };
};
