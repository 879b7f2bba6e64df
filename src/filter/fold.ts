const plain = /^[ -~]*$/;

/** Letters with a stroke, which no decomposition takes off. */
const strokes: Readonly<Record<string, string>> = {
  Ø: 'O',
  ø: 'o',
  Đ: 'D',
  đ: 'd',
  Ł: 'L',
  ł: 'l',
  Ħ: 'H',
  ħ: 'h',
  Ŧ: 'T',
  ŧ: 't',
};

/** A way to take a difference off texts. */
export interface Fold {
  text(text: string): string;
  /** the same for one byte of a text of plain letters, which has as many bytes afterwards */
  plainByte(byte: number): number;
}

/** CASEI: capital and small letters are one. */
export const withoutCase: Fold = {
  text: foldCase,
  plainByte: (byte) => (byte >= 0x41 && byte <= 0x5a ? byte + 0x20 : byte),
};

/** ACCENTI: letters with and without accents are one. */
export const withoutAccents: Fold = { text: foldAccents, plainByte: (byte) => byte };

/**
 * A text without the difference of capital and small letters (CASEI): full case folding of Unicode, so that Straße
 * meets STRASSE and every sigma is the same. The dotless ı stays itself.
 */
function foldCase(text: string): string {
  if (plain.test(text)) return text.toLowerCase();
  let out = '';
  // letter by letter: a whole word would get its final sigma back
  for (const letter of text) out += letter === 'ı' ? letter : letter.toLowerCase().toUpperCase().toLowerCase();
  return out.replaceAll('ς', 'σ');
}

/** A text without accents and other marks of Latin, Greek and Cyrillic letters (ACCENTI): é is e, ø is o. */
function foldAccents(text: string): string {
  if (plain.test(text)) return text;
  const bare = text
    .normalize('NFD')
    .replace(/[\u0300-\u036f\u1ab0-\u1aff\u1dc0-\u1dff]/g, '')
    .replace(/[ØøĐđŁłĦħŦŧ]/g, (letter) => strokes[letter])
    .normalize('NFC');
  // a text of nothing but marks is not unknown
  return bare === '' ? text : bare;
}
