import { tableOf, wordReader } from '../../domain/columns.js';
import type { FeatureTable } from '../../domain/feature-table.js';
import type { Site } from '../../domain/site.js';
import { classList } from './code-lists.js';
import type { ExportedSite } from './exported-site.js';

/** Counts below this are not told: a small number can point to one find. */
const smallestCount = 10;

/**
 * Site record without what tells the place or a sensitive class: what a public copy is made from.
 * Grids, control and ship axis are left out as well, since plans can be matched with public charts.
 */
function openClasses(site: Site): ReadonlySet<string> {
  const hidden = new Set(site.artefact_classes.filter((c) => c.sensitivity !== null).map((c) => c.id));
  // a child of a sensitive class is sensitive
  for (let before = -1; before !== hidden.size; ) {
    before = hidden.size;
    for (const { id, parent } of site.artefact_classes) if (parent !== null && hidden.has(parent)) hidden.add(id);
  }
  return new Set(site.artefact_classes.map((c) => c.id).filter((id) => !hidden.has(id)));
}

/** Artefact classes that are not sensitive. */
export function publicClassList(site: Site): FeatureTable {
  const open = openClasses(site);
  return classList({ ...site, artefact_classes: site.artefact_classes.filter(({ id }) => open.has(id)) });
}

/**
 * Finds by class and season, for everybody: small counts are told as "fewer than 10", none included, so that nothing
 * can be worked out of one find; there are no totals to subtract from. Sensitive classes are left out.
 */
export function publicCounts({ survey }: ExportedSite): FeatureTable {
  const open = openClasses(survey.site);
  const season = wordReader(survey.finds, 'season');
  const known = survey.classAt(null);
  const counts = new Map<string, number>();
  for (let row = 0; row < survey.finds.length; row++) {
    const key = JSON.stringify([known.words[known.codes[row]], season(row)]);
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  const rows = [...open].flatMap((artefactClass) =>
    survey.seasons.map((id) => {
      const count = counts.get(JSON.stringify([artefactClass, id])) ?? 0;
      return {
        artefact_class: artefactClass,
        season: id,
        finds: count < smallestCount ? `fewer than ${smallestCount}` : String(count),
      };
    }),
  );
  return tableOf({
    name: 'class_counts',
    fields: [
      { name: 'artefact_class', title: 'Artefact class', type: 'text' },
      { name: 'season', title: 'Season', type: 'text' },
      { name: 'finds', title: 'Finds', type: 'text' },
    ],
    rows,
    geometry: null,
  });
}
