import { Problem } from '../problems.js';

export type Encoding = 'utf-8' | 'windows-1252' | 'utf-16le';

const startsWith = (bytes: Uint8Array, mark: readonly number[]): boolean =>
  bytes.length >= mark.length && mark.every((byte, i) => bytes[i] === byte);

const utf8Mark = [0xef, 0xbb, 0xbf];
const utf16LittleMark = [0xff, 0xfe];
const utf16BigMark = [0xfe, 0xff];

/** What a byte order mark says the file is, against what was declared; null when they agree. */
function markDispute(first: Uint8Array, encoding: Encoding): string | null {
  const found = startsWith(first, utf8Mark)
    ? 'utf-8'
    : startsWith(first, utf16LittleMark)
      ? 'utf-16le'
      : startsWith(first, utf16BigMark)
        ? 'utf-16be'
        : null;
  if (found === null || found === encoding) return null;
  if (found === 'utf-16be') return 'is UTF-16 with the high byte first, which is not read; save it as UTF-8';
  return `begins with the mark of ${found}, but site.json declares ${encoding} (csv.encoding)`;
}

// what bytes 0x80 to 0x9F stand for, written out: decoders differ in them between Node versions
const upperWindows = '€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008dŽ\u008f\u0090‘’“”•–—˜™š›œ\u009džŸ';

function fromWindows1252(bytes: Uint8Array): string {
  const latin = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length).toString('latin1');
  return latin.replace(/[\u0080-\u009f]/g, (character) => {
    const meant = upperWindows[character.charCodeAt(0) - 0x80];
    if (meant === character) {
      const byte = character.charCodeAt(0).toString(16);
      throw new Problem('bad-file', `holds the byte 0x${byte}, which windows-1252 does not use (csv.encoding)`);
    }
    return meant;
  });
}

/** A decoder of pieces; the last call goes without a piece. */
function decoderOf(encoding: Encoding): ((piece?: Uint8Array) => string) | null {
  if (encoding === 'utf-8') return null;
  if (encoding === 'windows-1252') return (piece) => (piece ? fromWindows1252(piece) : '');
  const decoder = new TextDecoder(encoding, { fatal: true });
  return (piece) => {
    try {
      return piece ? decoder.decode(piece, { stream: true }) : decoder.decode();
    } catch (error) {
      if (!(error instanceof TypeError)) throw error;
      throw new Problem('bad-file', 'is not the UTF-16 that site.json declares (csv.encoding)');
    }
  };
}

/**
 * The bytes of a text file as UTF-8 without a byte order mark. UTF-8 itself goes through as it is: the cells that
 * are not plain ASCII are checked where they are read.
 * @throws Problem bad-file when the file's mark disputes the declared encoding, or bytes are none of that encoding
 */
export async function* asUtf8(
  pieces: AsyncIterable<Uint8Array> | Iterable<Uint8Array>,
  encoding: Encoding,
): AsyncGenerator<Uint8Array> {
  const decode = decoderOf(encoding);
  let first = true;
  for await (const piece of pieces) {
    let body = piece;
    if (first && piece.length > 0) {
      first = false;
      const dispute = markDispute(piece, encoding);
      if (dispute) throw new Problem('bad-file', dispute);
      if (encoding === 'utf-8' && startsWith(piece, utf8Mark)) body = piece.subarray(3);
    }
    yield decode ? Buffer.from(decode(body)) : body;
  }
  if (decode) yield Buffer.from(decode());
}
