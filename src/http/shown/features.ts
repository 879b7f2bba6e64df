import { type Value, valueAt } from '../../domain/feature-table.js';
import { unitText } from '../../figures/axes.js';
import type { CollectionView, SurveyView } from '../../operations/service.js';
import type { Link, Request } from '../exchange.js';
import { siteUrl } from '../links.js';
import { collectionPage, itemPage, itemsPage } from '../pages/collections.js';
import type { PageLink } from '../pages/layout.js';
import { frameOf, page, pageLinks } from './frame.js';

function collectionUrl(request: Request, collection: CollectionView): string {
  return siteUrl(request, `/collections/${encodeURIComponent(collection.id)}`);
}

function steps(request: Request, collection: CollectionView): PageLink[] {
  return [
    { href: siteUrl(request, '/collections'), title: 'Collections' },
    { href: collectionUrl(request, collection), title: collection.title },
  ];
}

/** Page of a collection. */
export function shownCollection(
  request: Request,
  survey: SurveyView,
  of: { collection: CollectionView; links: readonly Link[] },
): string {
  const { collection, links } = of;
  const facts = [
    { name: 'Records', value: String(collection.table.length) },
    { name: 'Geometry', value: collection.geometryType ?? 'none' },
    { name: 'Data version', value: `${survey.version.version}, ${survey.version.acceptedAt.slice(0, 10)}` },
  ];
  if (survey.storageCrs !== null) facts.push({ name: 'Projected CRS', value: survey.storageCrs.uri });
  if (collection.extent !== null) {
    const [west, south, east, north] = collection.extent.map((degrees) => degrees.toFixed(6));
    facts.push({ name: 'Extent, degrees', value: `${west} to ${east} east, ${south} to ${north} north` });
  }
  const root = collectionUrl(request, collection);
  const addresses = [{ title: 'Features (OGC API)', value: siteUrl(request), hint: `layer ${collection.id}` }];
  if (collection.geometryType !== null) {
    const template = siteUrl(request, `/xyz/${encodeURIComponent(collection.id)}/{z}/{x}/{y}.mvt`);
    addresses.push({ title: 'Vector tiles', value: template, hint: 'levels 0 to 22' });
  }
  if (collection.surface) {
    const hint = collection.bySeason ? 'values and standard deviations, metres' : 'metres';
    addresses.push({ title: 'GeoTIFF', value: `${root}/coverage`, hint });
  }
  return collectionPage({
    frame: frameOf(request, ['json', 'html'], steps(request, collection).slice(0, 1)),
    id: collection.id,
    title: collection.title,
    description: collection.description,
    facts,
    fields: collection.table.fields.map(({ name, title, type, unit, description }) => ({
      name,
      title,
      type,
      ...unitMember(unit),
      ...(description === undefined ? {} : { description }),
    })),
    addresses,
    links: pageLinks(links),
  });
}

/** Unit in the words of a page; a count has none. */
function unitMember(unit: string | undefined): { unit?: string } {
  const words = unit === undefined ? '' : unitText(unit);
  return words === '' ? {} : { unit: words };
}

const numeric = (type: string) => type === 'number' || type === 'integer';

function cells(collection: CollectionView, row: number): Value[] {
  return collection.table.fields.map(({ name }) => {
    const column = collection.table.columns.get(name);
    return column === undefined ? null : valueAt(column, row);
  });
}

/** Page of a selection of features. */
export function shownItems(
  request: Request,
  collection: CollectionView,
  of: { rows: Uint32Array; matched: number; links: readonly Link[] },
): string {
  const root = collectionUrl(request, collection);
  const seasons = new URLSearchParams(
    collection.bySeason ? request.query.getAll('season').map((season): [string, string] => ['season', season]) : [],
  );
  const chosen = seasons.size === 0 ? '' : `?${seasons}`;
  return itemsPage({
    frame: frameOf(request, ['geojson', 'html'], steps(request, collection)),
    title: collection.title,
    matched: of.matched,
    columns: collection.table.fields.map(({ name, title, unit, type }) => ({
      name,
      title,
      ...unitMember(unit),
      number: numeric(type),
    })),
    rows: Array.from(of.rows, (row) => {
      const id = String(collection.table.ids[row]);
      return {
        href: page({ href: `${root}/items/${id}${chosen}`, title: id }).href,
        label: id,
        cells: cells(collection, row),
      };
    }),
    links: pageLinks(of.links),
  });
}

/** Page of one feature. */
export function shownItem(
  request: Request,
  collection: CollectionView,
  of: { row: number; links: readonly Link[] },
): string {
  const values = cells(collection, of.row);
  return itemPage({
    frame: frameOf(request, ['geojson', 'html'], steps(request, collection)),
    title: `${collection.title}, ${collection.table.ids[of.row]}`,
    values: collection.table.fields.map(({ title, unit }, i) => ({
      title,
      ...unitMember(unit),
      value: values[i],
    })),
    links: pageLinks(of.links),
  });
}
