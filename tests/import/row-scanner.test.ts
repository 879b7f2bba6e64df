import fc from 'fast-check';
import { expect, test } from 'vitest';
import { RowScanner } from '../../src/import/row-scanner.js';

const decoder = new TextDecoder();

function scan(bytes: Uint8Array, sizes: readonly number[], limits = { rowBytes: 1 << 20, columns: 50 }) {
  const rows: { cells: string[]; line: number; fault: string | null; source: string }[] = [];
  const scanner = new RowScanner({
    delimiter: ',',
    ...limits,
    onRow: (row) => {
      rows.push({
        cells: Array.from({ length: row.cells }, (_, k) =>
          decoder.decode(row.bytes.subarray(row.starts[k], row.ends[k])),
        ),
        line: row.line,
        fault: row.fault,
        source: decoder.decode(row.source.subarray(row.sourceStart, row.sourceEnd)),
      });
    },
  });
  let at = 0;
  for (let k = 0; at < bytes.length; k++) {
    const size = sizes.length === 0 ? bytes.length : Math.max(1, sizes[k % sizes.length]);
    // a buffer of its own, spoilt afterwards: the scanner must not hold on to it
    const piece = bytes.slice(at, at + size);
    scanner.push(piece);
    piece.fill(0);
    at += size;
  }
  scanner.end();
  return { rows, stopped: scanner.stopped };
}

const encode = (text: string) => new TextEncoder().encode(text);

const cell = fc.string({ unit: fc.constantFrom('a', 'ü', '7', ' ', ',', '"', '\n', '\r\n', ';', '.') });
const written = (value: string, quote: boolean) =>
  quote || /[",\n\r]/.test(value) ? `"${value.replaceAll('"', '""')}"` : value;

test('what was written as CSV is read again, however the file is cut into pieces', () => {
  fc.assert(
    fc.property(
      fc.array(fc.array(fc.tuple(cell, fc.boolean()), { minLength: 1, maxLength: 5 }), { minLength: 1, maxLength: 6 }),
      fc.constantFrom('\n', '\r\n'),
      fc.array(fc.integer({ min: 1, max: 9 }), { maxLength: 4 }),
      fc.boolean(),
      (rows, lineEnd, sizes, lastLineEnd) => {
        const lines = rows.map((row) => row.map(([value, quote]) => written(value, quote)).join(','));
        const text = lines.join(lineEnd) + (lastLineEnd ? lineEnd : '');
        // a last row of one empty cell is no row without its line end
        fc.pre(lastLineEnd || lines[lines.length - 1] !== '');
        const { rows: read, stopped } = scan(encode(text), sizes);
        expect(stopped).toBeNull();
        expect(read.map(({ cells }) => cells)).toEqual(rows.map((row) => row.map(([value]) => value)));
        expect(read.map(({ source }) => source)).toEqual(lines);
        let line = 1;
        for (const [i, { line: said }] of read.entries()) {
          expect(said).toBe(line);
          line += 1 + lines[i].split('\n').length - 1;
        }
      },
    ),
    { seed: 3, numRuns: 1500 },
  );
});

test('any bytes at all end in rows or faults, the same however they are cut', () => {
  fc.assert(
    fc.property(
      fc.array(fc.constantFrom(34, 44, 10, 13, 65, 0, 200, 32), { maxLength: 60 }),
      fc.array(fc.integer({ min: 1, max: 5 }), { minLength: 1, maxLength: 3 }),
      (bytes, sizes) => {
        expect(scan(Uint8Array.from(bytes), sizes)).toEqual(scan(Uint8Array.from(bytes), []));
      },
    ),
    { seed: 4, numRuns: 3000 },
  );
});

test('a row beyond the cap stops the file and says where it began', () => {
  const { rows, stopped } = scan(encode(`a,b\n"${'x'.repeat(400)}`), [50], { rowBytes: 200, columns: 5 });
  expect(rows.map(({ cells }) => cells)).toEqual([['a', 'b']]);
  expect(stopped).toMatch(/begins on line 2 is longer than 200 bytes/);
});

test('more cells than allowed are a fault of the row', () => {
  expect(scan(encode('a,b,c,d\n'), [], { rowBytes: 200, columns: 3 }).rows[0].fault).toBe('has more than 3 cells');
});
