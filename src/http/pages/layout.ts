import { shortCaution } from './cautions.js';

/** An address with its words; `type` is the media type it answers. */
export interface PageLink {
  readonly href: string;
  readonly title: string;
  readonly rel?: string;
  readonly type?: string;
}

/** What every page needs beside its content. Addresses are absolute and given by the caller. */
export interface PageFrame {
  /** of the browser window; the page's own heading is part of the body */
  readonly title: string;
  /** the way here from the list of sites, nearest last; the page itself is not in it */
  readonly trail: readonly PageLink[];
  /** where /static/ is served, with a slash at the end; '/static/' when not given */
  readonly staticUrl?: string;
  /** the same resource in other media types */
  readonly alternates?: readonly PageLink[];
  /** the page asks for itself again after so many seconds: only while a job runs */
  readonly refreshSeconds?: number;
}

/** The page under way: frame, and HTML that is already escaped. */
export interface PageParts extends PageFrame {
  readonly body: string;
  /** names of style sheets and modules below /static/ beside the common one */
  readonly styles?: readonly string[];
  readonly modules?: readonly string[];
}

/** A whole HTML5 page: no inline script, no inline style, nothing from outside. */
export function page(parts: PageParts): string {
  const base = parts.staticUrl ?? '/static/';
  const head = [
    '<meta charset="utf-8">',
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    '<meta name="color-scheme" content="light dark">',
    // no picture for the tab, and no request for one
    '<link rel="icon" href="data:,">',
    ...(parts.refreshSeconds === undefined ? [] : [`<meta http-equiv="refresh" content="${parts.refreshSeconds}">`]),
    `<title>${escapeHtml(parts.title)}</title>`,
    ...[...(parts.styles ?? []), 'sheet.css'].map(
      (name) => `<link rel="stylesheet" href="${escapeHtml(base + name)}">`,
    ),
    ...(parts.alternates ?? []).map(
      (a) =>
        `<link rel="alternate" type="${escapeHtml(a.type ?? 'application/json')}" href="${escapeHtml(safeHref(a.href))}">`,
    ),
    ...(parts.modules ?? []).map((name) => `<script type="module" src="${escapeHtml(base + name)}"></script>`),
  ];
  const trail = [
    ...parts.trail.map((t) => `<li>${anchor(t)}</li>`),
    `<li aria-current="page">${escapeHtml(parts.title)}</li>`,
  ];
  const others = (parts.alternates ?? []).map((a) => anchor(a)).join(' ');
  return `<!doctype html>
<html lang="en">
<head>
${head.join('\n')}
</head>
<body>
<a class="skip" href="#content">To the content</a>
<header class="top"><nav aria-label="The way here"><ol class="trail">${trail.join('')}</ol></nav></header>
<main id="content">
${parts.body}
</main>
<footer>
<p>${escapeHtml(shortCaution)}</p>
${others === '' ? '' : `<p>This page as ${others}</p>`}
</footer>
</body>
</html>
`;
}

/** Text for element content and quoted attribute values. */
export function escapeHtml(text: string): string {
  return text
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;')
    .replace(/"/g, '&quot;')
    .replace(/'/g, '&#39;');
}

/** Data for a script, in an element that is never run: `<` is written so that no text can end the element. */
export function dataElement(id: string, data: unknown): string {
  const json = JSON.stringify(data).replace(/</g, '\\u003c');
  return `<script type="application/json" id="${escapeHtml(id)}">${json}</script>`;
}

/** An address a browser may follow: http, https, a path or a place on the page; anything else goes nowhere. */
export function safeHref(href: string): string {
  return /^(https?:\/\/|\/(?!\/)|#|\?)/i.test(href) ? href : '#';
}

/** A link with its words. */
export function anchor(link: PageLink): string {
  const rel = link.rel === undefined ? '' : ` rel="${escapeHtml(link.rel)}"`;
  const type = link.type === undefined ? '' : ` type="${escapeHtml(link.type)}"`;
  return `<a href="${escapeHtml(safeHref(link.href))}"${rel}${type}>${escapeHtml(link.title)}</a>`;
}

/** Links as a plain list. */
export function linkList(links: readonly PageLink[]): string {
  return links.length === 0 ? '' : `<ul class="links">${links.map((l) => `<li>${anchor(l)}</li>`).join('')}</ul>`;
}

/** A value in a labelled field to copy from; the button that copies comes with the script. */
export function copyField(field: { readonly title: string; readonly value: string; readonly hint?: string }): string {
  const hint = field.hint === undefined ? '' : `<span class="hint">${escapeHtml(field.hint)}</span>`;
  return (
    `<label class="copy"><span class="copy-title">${escapeHtml(field.title)}</span>` +
    `<input type="text" readonly value="${escapeHtml(field.value)}">${hint}</label>`
  );
}

/** Commands to copy, as they are typed. */
export function commandBlock(title: string, command: string): string {
  return `<figure class="command"><figcaption>${escapeHtml(title)}</figcaption><pre><code>${escapeHtml(command)}</code></pre></figure>`;
}

/** A table that scrolls inside its own box on a narrow screen; numbers are set to the right. */
export function table(
  columns: readonly { readonly title: string; readonly number?: boolean }[],
  rows: readonly (readonly string[])[],
  caption: string,
): string {
  const align = columns.map((c) => (c.number ? ' class="number"' : ''));
  const head = columns.map((c, i) => `<th scope="col"${align[i]}>${escapeHtml(c.title)}</th>`).join('');
  const body = rows
    .map((cells) => `<tr>${cells.map((cell, i) => `<td${align[i] ?? ''}>${cell}</td>`).join('')}</tr>`)
    .join('\n');
  const name = escapeHtml(caption);
  return (
    `<div class="scroll" role="region" aria-label="${name}" tabindex="0"><table><caption>${name}</caption>` +
    `<thead><tr>${head}</tr></thead>\n<tbody>\n${body}\n</tbody></table></div>`
  );
}
