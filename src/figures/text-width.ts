/**
 * Advance widths of printable ASCII (32 to 126) in thousandths of the type size, for the sans-serif face with the
 * metrics that the figures name first: a drawing is laid out without a font at hand.
 */
const advances = [
  278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556, 556, 556,
  556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833,
  722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556,
  556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334,
  260, 334, 584,
];
const others: Readonly<Record<string, number>> = {
  '\u2212': 584,
  '\u2009': 200,
  '²': 333,
  '³': 333,
  '°': 400,
  '–': 556,
};

/** Width of a line of text → mm, near enough to lay out a drawing; bold runs 7 % wider. */
export function textWidthMm(text: string, sizeMm: number, weight: 'normal' | 'bold' = 'normal'): number {
  let sum = 0;
  for (const character of text) {
    const code = character.codePointAt(0) as number;
    sum += code >= 32 && code < 127 ? advances[code - 32] : (others[character] ?? (code > 0x2e80 ? 1000 : 600));
  }
  return (sum / 1000) * sizeMm * (weight === 'bold' ? 1.07 : 1);
}

/** Breaks a text into lines no wider than `widthMm`, at spaces where it can, inside a word where it must. */
export function wrapText(
  text: string,
  widthMm: number,
  sizeMm: number,
  weight: 'normal' | 'bold' = 'normal',
): string[] {
  const fits = (line: string) => textWidthMm(line, sizeMm, weight) <= widthMm;
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/[ \t\n\r]+/).filter((w) => w !== '')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (fits(longer)) {
      line = longer;
      continue;
    }
    if (line !== '') lines.push(line);
    line = '';
    for (const character of word) {
      if (line !== '' && !fits(line + character)) {
        lines.push(line);
        line = '';
      }
      line += character;
    }
  }
  if (line !== '') lines.push(line);
  return lines;
}
