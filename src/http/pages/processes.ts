import { unitText } from '../../figures/axes.js';
import { type CellValue, cellText, factList } from './collections.js';
import {
  anchor,
  commandBlock,
  escapeHtml,
  linkList,
  type PageFrame,
  type PageLink,
  page,
  safeHref,
  table,
} from './layout.js';

/** One input of a process, as its description says it. */
export interface ProcessInput {
  readonly name: string;
  readonly title: string;
  readonly description?: string;
  /** 'number', 'text', 'one of' … in words */
  readonly kind: string;
  readonly unit?: string;
  readonly choices?: readonly string[];
  /** as text; none = must be given */
  readonly standard?: string;
}

/** One analysis: question, inputs, how to run it. */
export interface ProcessModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly id: string;
  readonly title: string;
  readonly version: string;
  readonly question: string;
  readonly formula?: string;
  /** own inputs, then those common to all processes */
  readonly inputs: readonly ProcessInput[];
  readonly commonInputs: readonly ProcessInput[];
  readonly outputs: readonly { readonly name: string; readonly title: string }[];
  readonly cautions: readonly string[];
  readonly sources: readonly string[];
  readonly curl: string;
  readonly commandLine: string;
  readonly links: readonly PageLink[];
}

/** Page of `GET /sites/{site}/processes/{process}`. */
export function processPage(model: ProcessModel): string {
  const body = [
    `<h1 class="sentence">${escapeHtml(model.question)}</h1>`,
    `<p>${escapeHtml(model.title)}, <code>${escapeHtml(model.id)}</code>, version ${escapeHtml(model.version)}</p>`,
    bullets('Cautions', model.cautions),
    `<h2>Run it</h2>${commandBlock('over HTTP', model.curl)}${commandBlock('on the command line', model.commandLine)}`,
    model.inputs.length === 0 ? '' : `<h2>Inputs</h2>${inputTable(model.inputs, 'Inputs of this process')}`,
    model.commonInputs.length === 0
      ? ''
      : `<h2>Inputs of every process</h2>${inputTable(model.commonInputs, 'Inputs of every process')}`,
    `<h2>Outputs</h2>${factList(model.outputs.map((o) => ({ name: o.name, value: o.title })))}`,
    model.formula === undefined
      ? ''
      : `<h2>Formula</h2><pre class="formula"><code>${escapeHtml(model.formula)}</code></pre>`,
    bullets('Sources', model.sources),
    linkList(model.links),
  ].join('\n');
  return page({ ...model.frame, title: model.title, body });
}

function inputTable(inputs: readonly ProcessInput[], caption: string): string {
  const columns = ['Name', 'Meaning', 'Values', 'Unit', 'Default'].map((title) => ({ title }));
  const rows = inputs.map((i) => [
    `<code>${escapeHtml(i.name)}</code>`,
    `${escapeHtml(i.title)}${i.description === undefined ? '' : `<br><span class="hint">${escapeHtml(i.description)}</span>`}`,
    i.choices === undefined ? escapeHtml(i.kind) : i.choices.map((c) => `<code>${escapeHtml(c)}</code>`).join(' '),
    escapeHtml(i.unit === undefined ? '' : unitText(i.unit)),
    i.standard === undefined ? 'must be given' : `<code>${escapeHtml(i.standard)}</code>`,
  ]);
  return table(columns, rows, caption);
}

function bullets(title: string, lines: readonly string[]): string {
  if (lines.length === 0) return '';
  return `<h2>${escapeHtml(title)}</h2><ul>${lines.map((l) => `<li>${escapeHtml(l)}</li>`).join('')}</ul>`;
}

/** A run of an analysis, waiting, running or done. */
export interface JobModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly id: string;
  /** the analysis' question */
  readonly question: string;
  /** the sentence that says which finds and which window */
  readonly sentence?: string;
  readonly status: 'accepted' | 'running' | 'successful' | 'failed' | 'dismissed';
  /** 0 to 100 */
  readonly progress: number;
  /** what is being done, or what went wrong */
  readonly message: string;
  /** when it was asked for, which data version, seed … */
  readonly facts: readonly { readonly name: string; readonly value: string }[];
  /** of a finished run */
  readonly answer?: {
    readonly figureUrl: string | null;
    readonly figureTitle: string;
    readonly table: {
      readonly columns: readonly { readonly title: string; readonly unit?: string; readonly number: boolean }[];
      readonly rows: readonly (readonly CellValue[])[];
    } | null;
    readonly leftOut: readonly string[];
    readonly cautions: readonly string[];
    readonly methods: string;
  };
  /** layer, table, figure, methods, repeat */
  readonly links: readonly PageLink[];
}

const statusWords: Readonly<Record<JobModel['status'], string>> = {
  accepted: 'Waiting for its turn.',
  running: 'Running.',
  successful: 'Done.',
  failed: 'Failed.',
  dismissed: 'Stopped and removed.',
};

/** Rows of a result's table beyond these stand in the CSV. */
const mostRows = 200;

/** Page of `GET /sites/{site}/jobs/{job}`: a card; while it runs, the page asks again every three seconds. */
export function jobPage(model: JobModel): string {
  const busy = model.status === 'accepted' || model.status === 'running';
  const share = Math.min(100, Math.max(0, model.progress));
  const state = busy
    ? `<p role="status">${statusWords[model.status]} ${escapeHtml(model.message)}</p>` +
      `<progress max="100" value="${share}">${share} %</progress>`
    : `<p role="status"${model.status === 'failed' ? ' class="notice"' : ''}>${statusWords[model.status]} ${escapeHtml(model.message)}</p>`;
  const body = [
    `<article class="card wide"><h1 class="sentence">${escapeHtml(model.question)}</h1>`,
    model.sentence === undefined ? '' : `<p>${escapeHtml(model.sentence)}</p>`,
    state,
    model.answer === undefined ? '' : answerParts(model.answer),
    linkList(model.links),
    '</article>',
    factList([{ name: 'job', value: model.id }, ...model.facts]),
  ].join('\n');
  return page({ ...model.frame, ...(busy ? { refreshSeconds: 3 } : {}), title: `Job ${model.id}`, body });
}

function answerParts(answer: NonNullable<JobModel['answer']>): string {
  const parts: string[] = [];
  if (answer.figureUrl !== null) {
    const title = escapeHtml(answer.figureTitle);
    parts.push(`<figure class="figure">${image(answer.figureUrl, title)}</figure>`);
  }
  if (answer.table !== null) {
    const columns = answer.table.columns.map((c) => {
      const unit = c.unit === undefined ? '' : unitText(c.unit);
      return { title: unit === '' ? c.title : `${c.title}, ${unit}`, number: c.number };
    });
    const rows = answer.table.rows.slice(0, mostRows).map((r) => r.map(cellText));
    parts.push(table(columns, rows, 'Table of the answer'));
    const left = answer.table.rows.length - rows.length;
    if (left > 0) parts.push(`<p>${left} more rows stand in the table’s file.</p>`);
  }
  parts.push(bullets('Left out', answer.leftOut), bullets('Cautions', answer.cautions));
  parts.push(`<h2>Methods</h2><p>${escapeHtml(answer.methods)}</p>`);
  return parts.join('\n');
}

function image(url: string, title: string): string {
  const address = escapeHtml(safeHref(url));
  return `<a href="${address}"><img src="${address}" alt="${title}"></a>`;
}

/** A list of processes or jobs: each a question or state with its link. */
export interface ListModel {
  readonly frame: Omit<PageFrame, 'title'>;
  readonly title: string;
  readonly entries: readonly { readonly href: string; readonly title: string; readonly note: string }[];
  readonly links: readonly PageLink[];
}

/** Page of `GET /processes`, `GET /jobs`, `GET /collections` and the like: links with a line each. */
export function listPage(model: ListModel): string {
  const rows = model.entries.map((e) => [anchor({ href: e.href, title: e.title }), escapeHtml(e.note)]);
  const body = [
    `<h1>${escapeHtml(model.title)}</h1>`,
    rows.length === 0
      ? '<p class="notice">Nothing here yet.</p>'
      : table([{ title: 'Open' }, { title: 'What it is' }], rows, model.title),
    linkList(model.links),
  ].join('\n');
  return page({ ...model.frame, title: model.title, body });
}
