import { fixedText, thinSpace } from './axes.js';

/** What a sheet shows, as the pieces of the one sentence that heads it. */
export interface Shown {
  /** artefact classes chosen, as people name them; none = all */
  readonly classes: readonly string[];
  /** seasons chosen in order of time; none = all */
  readonly seasons: readonly string[];
  /** area of the window; null = no dug area known */
  readonly windowAreaM2: number | null;
  /** date the identifications are taken from, ISO 8601; null = as known today */
  readonly identifiedAsOf?: string | null;
  /** surface under the finds, as people name it */
  readonly over?: string;
}

/** A piece of the sentence: `choice` pieces are those a reader may change. */
export interface SentencePiece {
  readonly text: string;
  readonly choice?: 'artefact_class' | 'season' | 'window' | 'identified_as_of' | 'surface';
}

/** The sentence of a sheet as its pieces, in reading order; joined they are `shownSentence`. */
export function shownPieces(shown: Shown): SentencePiece[] {
  const pieces: SentencePiece[] = [
    { text: 'Showing ' },
    { text: shown.classes.length === 0 ? 'all classes' : listed(shown.classes), choice: 'artefact_class' },
    { text: ' of ' },
    { text: seasonsText(shown.seasons), choice: 'season' },
    { text: ' in the ' },
    {
      text:
        shown.windowAreaM2 === null ? 'whole register, no dug area known' : `dug area, ${areaText(shown.windowAreaM2)}`,
      choice: 'window',
    },
    { text: ', as known on ' },
    { text: shown.identifiedAsOf ?? 'today', choice: 'identified_as_of' },
  ];
  if (shown.over !== undefined) pieces.push({ text: ', over ' }, { text: shown.over, choice: 'surface' });
  pieces.push({ text: '.' });
  return pieces;
}

/** The sentence that heads a sheet, a figure, a table, a job. */
export function shownSentence(shown: Shown): string {
  return shownPieces(shown)
    .map((p) => p.text)
    .join('');
}

/** An area in words: whole square metres from 20 m², else one digit more. */
export function areaText(areaM2: number): string {
  return `${fixedText(areaM2, areaM2 < 20 && !Number.isInteger(areaM2) ? 1 : 0)}${thinSpace}m²`;
}

function seasonsText(seasons: readonly string[]): string {
  if (seasons.length === 0) return 'all seasons';
  const years = seasons.map(Number);
  const running = years.every((y, i) => Number.isInteger(y) && (i === 0 || y === years[i - 1] + 1));
  return running && seasons.length > 2 ? `${seasons[0]} to ${seasons[seasons.length - 1]}` : listed(seasons);
}

function listed(words: readonly string[]): string {
  if (words.length < 2) return words[0] ?? '';
  return `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`;
}
