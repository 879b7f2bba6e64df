import { anchor, escapeHtml, linkList, type PageFrame, type PageLink, page, table } from './layout.js';

/** The parts of an OpenAPI document that the page reads. */
export interface ApiDocument {
  readonly info: { readonly title: string; readonly version: string; readonly description?: string };
  readonly paths: Readonly<Record<string, Readonly<Record<string, unknown>>>>;
  readonly components?: { readonly parameters?: Readonly<Record<string, unknown>> };
}

export interface ApiModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly document: ApiDocument;
  /** prefix of the paths, absolute, without a slash at the end */
  readonly baseUrl: string;
  readonly links: readonly PageLink[];
}

const methods = ['get', 'post', 'put', 'patch', 'delete'];

/** Page of `GET /sites/{site}/api.html`: every operation, by subject, read from the OpenAPI document. */
export function apiPage(model: ApiModel): string {
  const bySubject = new Map<string, string[]>();
  for (const [path, item] of Object.entries(model.document.paths)) {
    const shared = list(item['parameters']);
    for (const method of methods) {
      const operation = item[method];
      if (!isRecord(operation)) continue;
      const subject = String(list(operation['tags'])[0] ?? 'Other');
      const entry = operationEntry({ model, path, method, operation, shared });
      bySubject.set(subject, [...(bySubject.get(subject) ?? []), entry]);
    }
  }
  const { info } = model.document;
  const body = [
    `<h1>${escapeHtml(info.title)}</h1>`,
    `<p>Version ${escapeHtml(info.version)}. ${escapeHtml(info.description ?? '')}</p>`,
    linkList(model.links),
    ...[...bySubject].map(
      ([subject, entries]) => `<section><h2>${escapeHtml(subject)}</h2>\n${entries.join('\n')}</section>`,
    ),
  ].join('\n');
  return page({ ...model.frame, title: 'API', body });
}

interface Operation {
  readonly model: ApiModel;
  readonly path: string;
  readonly method: string;
  readonly operation: Record<string, unknown>;
  readonly shared: readonly unknown[];
}

function operationEntry({ model, path, method, operation, shared }: Operation): string {
  const parameters = [...shared, ...list(operation['parameters'])]
    .map((p) => resolved(p, model.document))
    .filter(isRecord);
  const rows = parameters.map((p) => {
    const schema = isRecord(p['schema']) ? p['schema'] : {};
    const choices = list(schema['enum']).map(String).join(', ');
    return [
      `<code>${escapeHtml(text(p['name']))}</code>`,
      escapeHtml(text(p['in'])),
      escapeHtml(choices === '' ? text(schema['type']) : choices),
      escapeHtml(text(p['description'])),
    ];
  });
  const columns = ['Parameter', 'Stands in', 'Values', 'Meaning'].map((title) => ({ title }));
  const address = model.baseUrl + path;
  // an address with open places cannot be followed
  const shown =
    method === 'get' && !path.includes('{')
      ? anchor({ href: address, title: path })
      : `<span>${escapeHtml(path)}</span>`;
  const responses = isRecord(operation['responses']) ? Object.keys(operation['responses']).join(', ') : '';
  return `<details class="operation"><summary><code>${method.toUpperCase()}</code> ${shown} <span class="hint">${escapeHtml(text(operation['summary']))}</span></summary>
<p>${escapeHtml(text(operation['description']))}</p>
${rows.length === 0 ? '' : table(columns, rows, `Parameters of ${method.toUpperCase()} ${path}`)}
<p class="hint">Answers ${escapeHtml(responses)}</p></details>`;
}

function resolved(parameter: unknown, document: ApiDocument): unknown {
  if (!isRecord(parameter) || typeof parameter['$ref'] !== 'string') return parameter;
  const name = parameter['$ref'].replace('#/components/parameters/', '');
  return document.components?.parameters?.[name] ?? { name };
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);
const list = (value: unknown): readonly unknown[] => (Array.isArray(value) ? value : []);
const text = (value: unknown): string => (typeof value === 'string' ? value : '');

/** Any other resource: its links, and its JSON as it is. */
export interface LinksModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly title: string;
  readonly description?: string;
  readonly links: readonly PageLink[];
  /** the resource itself; `links` inside it are listed above anyway */
  readonly document?: unknown;
}

/** Page of conformance, tilesets, tile matrix sets, styles, queryables, versions: all links as links, all content as text. */
export function linksPage(model: LinksModel): string {
  const body = [
    `<h1>${escapeHtml(model.title)}</h1>`,
    model.description === undefined ? '' : `<p>${escapeHtml(model.description)}</p>`,
    linkList(model.links),
    model.document === undefined
      ? ''
      : `<h2>Content</h2><pre class="document"><code>${escapeHtml(JSON.stringify(model.document, null, 2))}</code></pre>`,
  ].join('\n');
  return page({ ...model.frame, title: model.title, body });
}
