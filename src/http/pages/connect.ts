import { anchor, copyField, escapeHtml, type PageFrame, type PageLink, page, table } from './layout.js';

/** The connection sheet as it is shown. */
export interface ConnectionModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly title: string;
  readonly sections: readonly {
    readonly heading: string;
    readonly words: string;
    readonly fields: readonly { readonly title: string; readonly value: string; readonly hint?: string }[];
  }[];
  readonly collections: readonly {
    readonly title: string;
    readonly kind: string;
    readonly links: readonly PageLink[];
    /** template of its vector tiles; null = none */
    readonly tiles: string | null;
  }[];
}

/** Page of `GET /sites/{site}/connect`: addresses to copy, one heading for each way to connect. */
export function connectionPage(model: ConnectionModel): string {
  const sections = model.sections.map(
    (section, i) => `<section aria-labelledby="part-${i}"><h2 id="part-${i}">${escapeHtml(section.heading)}</h2>
<p>${escapeHtml(section.words)}</p>
<div class="fields">
${section.fields.map(copyField).join('\n')}
</div></section>`,
  );
  const rows = model.collections.map((collection) => [
    escapeHtml(collection.title),
    escapeHtml(collection.kind),
    collection.links.map((link) => anchor(link)).join(' '),
    collection.tiles === null ? '' : `<code>${escapeHtml(collection.tiles)}</code>`,
  ]);
  const columns = [{ title: 'Collection' }, { title: 'Kind' }, { title: 'Open' }, { title: 'Vector tiles' }];
  return page({
    ...model.frame,
    title: 'Connect',
    modules: ['copy.js'],
    body: [
      `<h1>${escapeHtml(model.title)}</h1>`,
      '<p>Every address of this site, ready to paste into a GIS desktop.</p>',
      ...sections,
      `<section aria-labelledby="collections"><h2 id="collections">Collection by collection</h2>\n${table(columns, rows, 'Addresses of each collection')}</section>`,
    ].join('\n'),
  });
}
