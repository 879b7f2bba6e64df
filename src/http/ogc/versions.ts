import { Problem } from '../../problems.js';
import type { Version } from '../../storage/store.js';
import type { Handler, Request } from '../exchange.js';
import { selfLinks, siteUrl } from '../links.js';
import { mediaTypeOf } from '../negotiate.js';
import { clip } from '../query.js';

function versionDocument(request: Request, version: Version) {
  return {
    version: version.version,
    accepted_at: version.acceptedAt,
    content_hash: version.contentHash,
    tables: version.tables,
    set_aside: version.setAside,
    links: [
      {
        href: siteUrl(request, `/versions/${version.version}`),
        rel: 'self',
        type: mediaTypeOf('json'),
        title: `Data version ${version.version}`,
      },
    ],
  };
}

/** All data versions of a site, the newest first. */
export const getVersions: Handler = async (request, { service }) => {
  const versions = await service.versions(request.params['siteId']);
  const links = selfLinks(request, ['json', 'html']);
  return { body: { versions: [...versions].reverse().map((v) => versionDocument(request, v)), links }, links };
};

/** One data version: what was received, what was set aside. */
export const getVersion: Handler = async (request, { service }) => {
  const text = request.params['version'];
  const found = (await service.versions(request.params['siteId'])).find((v) => String(v.version) === text);
  if (found === undefined)
    throw new Problem('no-such-version', `there is no data version "${clip(text)}"; see the list at /versions`);
  return { body: versionDocument(request, found) };
};
