import { wordReader } from './columns.js';
import type { KnownClasses } from './sample.js';
import type { Survey } from './survey.js';

/** The class of every find of some seasons as the register knew it in one version at one date. */
export function knownClasses(
  survey: Survey,
  of: {
    /** none named = all */
    readonly seasons: readonly string[];
    /** null = as known last */
    readonly identifiedAsOf: string | null;
    /** [rows of finds] 1 = wanted; none given = all are */
    readonly fits?: ArrayLike<number>;
  },
): KnownClasses {
  const { finds } = survey;
  const season = wordReader(finds, 'season');
  const label = wordReader(finds, 'find');
  const { codes, words } = survey.classAt(of.identifiedAsOf);
  const wanted = new Set(of.seasons);
  const rows = Array.from({ length: finds.length }, (_, row) => row).filter(
    (row) => (wanted.size === 0 || wanted.has(season(row) ?? '')) && (!of.fits || of.fits[row] === 1),
  );
  return {
    version: survey.version,
    identifiedAsOf: of.identifiedAsOf,
    find: rows.map((row) => label(row) ?? ''),
    artefactClass: rows.map((row) => (codes[row] === 0 ? null : words[codes[row]])),
  };
}
