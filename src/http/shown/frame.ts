import type { Answer, Link, Request, Route } from '../exchange.js';
import { selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import type { PageFrame, PageLink } from '../pages/layout.js';
import { linksPage } from '../pages/resources.js';

/** A link as a page shows it: each needs words, and templates cannot be followed. */
export function pageLinks(links: readonly Link[]): PageLink[] {
  return links
    .filter(({ templated }) => !templated)
    .map(({ href, rel, type, title }) => ({ href, rel, title: title ?? rel, ...(type === undefined ? {} : { type }) }));
}

/** Links for people lead to pages where there are pages. */
export function page(link: PageLink): PageLink {
  return { ...link, href: `${link.href}${link.href.includes('?') ? '&' : '?'}f=html`, type: mediaTypeOf('html') };
}

/** Frame of a page below a site; `steps` are the pages between the site and this one. */
export function frameOf(
  request: Request,
  formats: Route['formats'],
  steps: readonly PageLink[] = [],
): Omit<PageFrame, 'title'> {
  const trail: PageLink[] = [];
  const id = request.params['siteId'];
  if (request.path.replace(/\/$/, '') !== '' && request.path !== '/sites')
    trail.push(page({ href: `${request.base}/sites`, title: 'Sites' }));
  if (id !== undefined && request.path.replace(/\/$/, '').split('/').length > 3)
    trail.push(page({ href: siteUrl(request), title: id }));
  const alternates = pageLinks(selfLinks(request, formats).filter(({ rel }) => rel === 'alternate'));
  return { trail: [...trail, ...steps.map(page)], staticUrl: `${request.base}/static/`, alternates };
}

function linksOf(value: unknown): Link[] {
  const found: Link[] = [];
  const seen = new Set<string>();
  const walk = (node: unknown) => {
    if (Array.isArray(node)) for (const entry of node) walk(entry);
    else if (typeof node === 'object' && node !== null) {
      const { href, rel } = node as { href?: unknown; rel?: unknown };
      if (typeof href === 'string' && typeof rel === 'string') {
        if (!seen.has(`${rel} ${href}`)) found.push(node as Link);
        seen.add(`${rel} ${href}`);
      } else for (const entry of Object.values(node)) walk(entry);
    }
  };
  walk(value);
  return found;
}

/** Turns an answer into its page when a page was asked for. */
export function shownAnswer(answer: Answer, request: Request, route: Route): Answer {
  if (request.format !== 'html' || answer.body === null) return answer;
  const made =
    answer.page ??
    (() => {
      const document = answer.body as Record<string, unknown>;
      const title = typeof document['title'] === 'string' ? document['title'] : route.summary;
      const description = document['description'];
      return linksPage({
        frame: frameOf(request, route.formats),
        title,
        ...(typeof description === 'string' ? { description } : {}),
        links: pageLinks(linksOf(document)),
        document,
      });
    });
  // a page changes with its scripts and words, not only with the data: its tag is drawn from its bytes
  const { tag: _tag, page: _page, ...rest } = answer;
  return { ...rest, body: made, mediaType: mediaTypeOf('html') };
}
