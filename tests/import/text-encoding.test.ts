import { expect, test } from 'vitest';
import { asUtf8, type Encoding } from '../../src/import/text-encoding.js';

async function decoded(pieces: readonly (readonly number[])[], encoding: Encoding): Promise<string> {
  const out: Buffer[] = [];
  for await (const piece of asUtf8(
    pieces.map((piece) => Uint8Array.from(piece)),
    encoding,
  ))
    out.push(Buffer.from(piece));
  return Buffer.concat(out).toString('utf8');
}

test('Windows-1252: the 27 characters of its upper rows, and the Latin ones', async () => {
  expect(
    await decoded(
      [
        [0x80, 0x96, 0x92],
        [0xfc, 0x41],
      ],
      'windows-1252',
    ),
  ).toBe('€–’üA');
  await expect(decoded([[0x41, 0x81]], 'windows-1252')).rejects.toThrow(/byte 0x81, which windows-1252 does not use/);
});

test('UTF-16, cut through a character', async () => {
  const bytes = [...Buffer.from('\ufeffaü😀', 'utf16le')];
  expect(await decoded([bytes.slice(0, 5), bytes.slice(5, 9), bytes.slice(9)], 'utf-16le')).toBe('aü😀');
  await expect(decoded([[0x41, 0x00, 0x00, 0xdc, 0x41, 0x00]], 'utf-16le')).rejects.toThrow(/is not the UTF-16/);
});

test('a mark that disputes the declaration', async () => {
  await expect(decoded([[0xef, 0xbb, 0xbf, 65]], 'windows-1252')).rejects.toThrow(/mark of utf-8, but .* windows-1252/);
  await expect(decoded([[0xfe, 0xff, 0, 65]], 'utf-8')).rejects.toThrow(/high byte first/);
});
