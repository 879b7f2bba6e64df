import type { Survey } from '../domain/survey.js';
import { type ClassKey, mapStyle, type TileLayer } from '../figures/map-style.js';
import type { PublishedCollection } from './published-collection.js';

/** What a style is made from. */
interface StyledSite {
  readonly survey: Survey;
  readonly collections: ReadonlyMap<string, PublishedCollection>;
}

/** Addresses the caller gives, absolute. */
interface Addresses {
  tileJson(collection: string): string;
  tiles(collection: string): string;
}

const drawable = (site: StyledSite): PublishedCollection[] =>
  [...site.collections.values()].filter((c) => c.geometryType !== null);

/** A surface is drawn by its contours; the outline of one worked out from levels would only cross the plan. */
const isDrawnWithTheSite = ({ surface, bySeason }: PublishedCollection): boolean => !(surface && bySeason);

/** Styles of a site: one for everything, one for each collection. */
export function siteStyles(site: StyledSite): { id: string; title: string }[] {
  return [
    { id: 'site', title: `${site.survey.site.name}: the whole site` },
    ...drawable(site).map(({ id, title }) => ({ id, title })),
  ];
}

/** The eight classes with most finds: colours are for the ones that matter on the plan. */
export function classKeys(survey: Survey): ClassKey[] {
  const column = survey.classAt(null);
  const count = new Map<string, number>();
  for (const code of column.codes) {
    const word = column.words[code];
    if (word !== '') count.set(word, (count.get(word) ?? 0) + 1);
  }
  return [...count]
    .sort(([a, m], [b, n]) => n - m || (a < b ? -1 : 1))
    .slice(0, 8)
    .map(([id]) => ({ title: survey.classTree.classes.find((c) => c.id === id)?.title ?? id, classes: [id] }));
}

/** A style document; null when there is none of that id. */
export function siteStyle(site: StyledSite, id: string, addresses: Addresses): Record<string, unknown> | null {
  const chosen =
    id === 'site'
      ? drawable(site).filter((c) => !c.id.startsWith('result-') && isDrawnWithTheSite(c))
      : drawable(site).filter((c) => c.id === id);
  if (chosen.length === 0) return null;
  const name = id === 'site' ? site.survey.site.name : chosen[0].title;
  const layers = chosen.map((collection): TileLayer => {
    const { fields } = collection.table;
    return {
      id: collection.id,
      title: collection.title,
      geometryType: collection.geometryType === 'area' ? 'polygon' : (collection.geometryType as 'point' | 'line'),
      source: { tiles: addresses.tiles(collection.id) },
      maxZoom: 22,
      ...(collection.extent ? { bounds: collection.extent } : {}),
      ...(fields.some(({ name }) => name === 'artefact_class') ? { classProperty: 'artefact_class' } : {}),
      ...(collection.id === 'excavated-areas' ? { seasonProperty: 'season' } : {}),
    };
  });
  return { ...mapStyle({ name, layers, classes: classKeys(site.survey), seasons: site.survey.seasons }) };
}
