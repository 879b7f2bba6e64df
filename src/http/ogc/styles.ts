import { Problem } from '../../problems.js';
import type { Handler } from '../exchange.js';
import { selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { clip } from '../query.js';
import { surveyOf } from '../selection.js';
import { plainTileTemplate } from './tiles.js';

/** The styles of a site's tile layers; each has a plain address that answers JSON to anything. */
export const getStyles: Handler = async (request, context) => {
  const survey = await context.service.survey(request.params['siteId'], { version: null, identifiedAsOf: null });
  const styles = context.service.styles(survey).map(({ id, title }) => ({
    id,
    title,
    links: [
      {
        href: siteUrl(request, `/styles/${encodeURIComponent(id)}`),
        rel: 'stylesheet',
        type: mediaTypeOf('style'),
        title,
      },
    ],
  }));
  const links = selfLinks(request, ['json', 'html']);
  return { body: { ...(styles.length > 0 ? { default: styles[0].id } : {}), styles, links }, links };
};

/** One style, with absolute addresses of its tiles in the state asked for. */
export const getStyle: Handler = async (request, context) => {
  const survey = await surveyOf(request, context);
  const id = request.params['styleId'];
  const kept = new URLSearchParams(request.query);
  kept.delete('f');
  const query = kept.size === 0 ? '' : `?${kept}`;
  const style = context.service.style(survey, id, {
    tileJson: (collection) => `${siteUrl(request, `/tilejson/${encodeURIComponent(collection)}.json`)}${query}`,
    tiles: (collection) => plainTileTemplate(request, collection),
  });
  if (style === null) {
    const known = context.service.styles(survey).map((s) => s.id);
    throw new Problem('not-found', `there is no style "${clip(id)}"; there are ${known.join(', ') || 'none'}`);
  }
  return { body: style };
};
