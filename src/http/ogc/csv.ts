import type { CollectionView, OutputCrs, SurveyView } from '../../operations/service.js';
import { tagOf } from '../conditional.js';
import type { Answer, Context, Link, Request } from '../exchange.js';
import { mediaTypeOf } from '../negotiate.js';

/** Rows of a collection on their way into a CSV file. */
export interface CsvRows {
  readonly survey: SurveyView;
  readonly collection: CollectionView;
  readonly rows: Uint32Array;
  readonly crs: { readonly uri: string; readonly crs: OutputCrs };
  readonly links: readonly Link[];
}

/** Parameters that ask for a page; without them a CSV file holds everything that was matched. */
export const pageParameters = ['limit', 'offset', 'after'] as const;

/** Records as a CSV file, sent while it is written. */
export function csvAnswer(request: Request, context: Context, of: CsvRows): Answer {
  const { survey, collection, rows, crs, links } = of;
  return {
    body: null,
    pieces: () => context.service.csv(collection, rows, crs.crs),
    mediaType: mediaTypeOf('csv'),
    tag: tagOf(context.software, survey.version.contentHash, request.base, request.url, mediaTypeOf('csv')),
    links,
    headers: {
      'Content-Crs': `<${crs.uri}>`,
      'Content-Disposition': `attachment; filename="${survey.site.id}-${collection.id}-v${survey.version.version}.csv"`,
    },
  };
}
