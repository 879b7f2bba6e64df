import { fixedText, numberText } from '../../figures/axes.js';
import {
  anchor,
  copyField,
  escapeHtml,
  linkList,
  type PageFrame,
  type PageLink,
  page,
  safeHref,
  table,
} from './layout.js';

/** The list of sites. */
export interface SitesModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly sites: readonly { readonly title: string; readonly href: string; readonly note?: string }[];
  readonly links: readonly PageLink[];
}

/** Page of `GET /sites`. */
export function sitesPage(model: SitesModel): string {
  const sites = model.sites.map(
    (s) => `<li>${anchor(s)}${s.note === undefined ? '' : ` <span class="hint">${escapeHtml(s.note)}</span>`}</li>`,
  );
  const list =
    sites.length === 0
      ? '<p class="notice">No site is loaded. <code>npx wreckfield import FOLDER</code> loads one.</p>'
      : `<ul class="links big">${sites.join('')}</ul>`;
  return page({ ...model.frame, title: 'Sites', body: `<h1>Sites</h1>\n${list}\n${linkList(model.links)}` });
}

/** One collection: what it holds, its columns, its addresses. */
export interface CollectionModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly id: string;
  readonly title: string;
  readonly description?: string;
  /** number of records, extent, storage CRS, data version … in the order shown */
  readonly facts: readonly { readonly name: string; readonly value: string }[];
  readonly fields: readonly {
    readonly name: string;
    readonly title: string;
    readonly type: string;
    readonly unit?: string;
    readonly description?: string;
  }[];
  readonly addresses: readonly { readonly title: string; readonly value: string; readonly hint?: string }[];
  readonly links: readonly PageLink[];
}

/** Page of `GET /sites/{site}/collections/{collection}`. */
export function collectionPage(model: CollectionModel): string {
  const fields = model.fields.map((f) => [
    `<code>${escapeHtml(f.name)}</code>`,
    escapeHtml(f.title),
    escapeHtml(f.type),
    escapeHtml(f.unit ?? ''),
    escapeHtml(f.description ?? ''),
  ]);
  const columns = ['Name', 'Title', 'Type', 'Unit', 'Meaning'].map((title) => ({ title }));
  const body = [
    `<h1>${escapeHtml(model.title)}</h1>`,
    model.description === undefined ? '' : `<p>${escapeHtml(model.description)}</p>`,
    factList(model.facts),
    linkList(model.links),
    model.addresses.length === 0
      ? ''
      : `<h2>Addresses</h2><div class="fields">${model.addresses.map(copyField).join('\n')}</div>`,
    fields.length === 0 ? '' : `<h2>Columns</h2>${table(columns, fields, 'Columns of this collection')}`,
  ].join('\n');
  return page({ ...model.frame, title: model.title, modules: ['copy.js'], body });
}

/** A value of a record as it may stand in a cell; null is unknown. */
export type CellValue = string | number | boolean | null;

/** One page of records, in columns. */
export interface ItemsModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly title: string;
  /** the sentence that says what is selected */
  readonly sentence?: string;
  /** all matches, not only those of this page; null when not counted */
  readonly matched: number | null;
  readonly columns: readonly {
    readonly name: string;
    readonly title: string;
    readonly unit?: string;
    readonly number: boolean;
  }[];
  readonly rows: readonly { readonly href: string; readonly label: string; readonly cells: readonly CellValue[] }[];
  /** next and earlier pages, the collection, other formats */
  readonly links: readonly PageLink[];
}

/** Columns beyond these are left to the record's own page: a table must stay readable. */
const mostColumns = 14;

/** Page of `GET …/items`: a limited table; unknown leaves its cell empty. */
export function itemsPage(model: ItemsModel): string {
  const shown = model.columns.slice(0, mostColumns);
  const columns = [
    { title: 'Record' },
    ...shown.map((c) => ({ title: c.unit ? `${c.title}, ${c.unit}` : c.title, number: c.number })),
  ];
  const rows = model.rows.map((r) => [
    anchor({ href: r.href, title: r.label }),
    ...r.cells.slice(0, mostColumns).map(cellText),
  ]);
  const left = model.columns.length - shown.length;
  const count =
    model.matched === null
      ? `${model.rows.length} records on this page.`
      : `${model.rows.length} of ${fixedText(model.matched, 0)} records.`;
  const body = [
    `<h1>${escapeHtml(model.title)}</h1>`,
    model.sentence === undefined ? '' : `<p class="sentence small">${escapeHtml(model.sentence)}</p>`,
    `<p>${count}${left > 0 ? ` ${left} more columns stand on each record’s own page.` : ''}</p>`,
    model.rows.length === 0 ? '<p class="notice">No record matches.</p>' : table(columns, rows, model.title),
    linkList(model.links),
  ].join('\n');
  return page({ ...model.frame, title: model.title, body });
}

/** One record with all its columns. */
export interface ItemModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly title: string;
  readonly values: readonly { readonly title: string; readonly unit?: string; readonly value: CellValue }[];
  readonly links: readonly PageLink[];
}

/** Page of `GET …/items/{id}`: every column by name; unknown is said in words. */
export function itemPage(model: ItemModel): string {
  const rows = model.values.map((v) => {
    const unit = v.unit && v.value !== null ? ` ${escapeHtml(v.unit)}` : '';
    const value = v.value === null ? '<span class="hint">unknown</span>' : cellText(v.value) + unit;
    return `<div><dt>${escapeHtml(v.title)}</dt><dd>${value}</dd></div>`;
  });
  const body = `<h1>${escapeHtml(model.title)}</h1>\n<dl class="facts">${rows.join('\n')}</dl>\n${linkList(model.links)}`;
  return page({ ...model.frame, title: model.title, body });
}

/** Facts in two columns, name and value. */
export function factList(facts: readonly { readonly name: string; readonly value: string }[]): string {
  if (facts.length === 0) return '';
  const rows = facts.map((f) => `<div><dt>${escapeHtml(f.name)}</dt><dd>${escapeHtml(f.value)}</dd></div>`);
  return `<dl class="facts">${rows.join('')}</dl>`;
}

/** A cell as HTML: numbers with seven digits at most, addresses as links, unknown as nothing. */
export function cellText(value: CellValue): string {
  if (value === null) return '';
  if (typeof value === 'number') {
    // ids and counts stand as they are: a grouped id cannot be searched for
    return escapeHtml(
      Number.isInteger(value) ? String(value).replace('-', '\u2212') : numberText(value, { digits: 7 }),
    );
  }
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  return /^https?:\/\/\S+$/.test(value)
    ? `<a href="${escapeHtml(safeHref(value))}">${escapeHtml(value)}</a>`
    : escapeHtml(value);
}
