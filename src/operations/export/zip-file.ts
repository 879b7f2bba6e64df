import { createHash } from 'node:crypto';
import { type FileHandle, open } from 'node:fs/promises';
import { crc32, createDeflateRaw } from 'node:zlib';
import { Problem } from '../../problems.js';

/** One file in a package, as its list of checksums names it. */
export interface PackedFile {
  readonly name: string;
  readonly size: number;
  readonly sha256: string;
}

const mostBytes = 2 ** 32 - 1;
const mostFiles = 2 ** 16 - 1;

interface Entry extends PackedFile {
  readonly crc: number;
  readonly packedSize: number;
  readonly offset: number;
}

/**
 * Writes a ZIP file piece by piece: no file in it is ever whole in memory. Files have the date of the data version, so
 * the same content gives the same bytes.
 * @throws Problem too-much-work when it would pass 4 GiB
 * @see ISO/IEC 21320-1
 */
export class ZipFile {
  readonly #file: FileHandle;
  readonly #moment: readonly [time: number, date: number];
  readonly #entries: Entry[] = [];
  #at = 0;

  private constructor(file: FileHandle, moment: Date) {
    this.#file = file;
    this.#moment = dosMoment(moment);
  }

  /** @param moment  date of every file in it */
  static async create(path: string, moment: Date): Promise<ZipFile> {
    return new ZipFile(await open(path, 'wx'), moment);
  }

  get files(): readonly PackedFile[] {
    return this.#entries;
  }

  /** @param name  path in the package, parts between slashes */
  async add(name: string, pieces: Iterable<Uint8Array> | AsyncIterable<Uint8Array>): Promise<void> {
    const offset = this.#at;
    const hash = createHash('sha256');
    let [crc, size] = [0, 0];
    await this.#append(localHeader({ name, crc: 0, size: 0, packedSize: 0 }, this.#moment));
    const start = this.#at;
    const pack = createDeflateRaw({ level: 6 });
    const feeding = (async () => {
      for await (const piece of pieces) {
        hash.update(piece);
        crc = crc32(piece, crc);
        size += piece.length;
        // pieces may be reused by their maker: the packer keeps what it is given
        if (!pack.write(Buffer.from(piece))) await new Promise((resolve) => pack.once('drain', resolve));
      }
      pack.end();
    })();
    feeding.catch((error: unknown) => pack.destroy(error instanceof Error ? error : new Error(String(error))));
    for await (const piece of pack) await this.#append(piece as Uint8Array);
    await feeding;
    const entry: Entry = { name, size, crc, packedSize: this.#at - start, offset, sha256: hash.digest('hex') };
    if (size > mostBytes || this.#entries.length >= mostFiles) throw tooLarge();
    await this.#file.write(localHeader(entry, this.#moment), 0, undefined, offset);
    this.#entries.push(entry);
  }

  async #append(bytes: Uint8Array): Promise<void> {
    if (this.#at + bytes.length > mostBytes) throw tooLarge();
    await this.#file.write(bytes, 0, bytes.length, this.#at);
    this.#at += bytes.length;
  }

  /** Writes the list of files and closes. */
  async finish(): Promise<void> {
    const start = this.#at;
    for (const entry of this.#entries) await this.#append(listEntry(entry, this.#moment));
    const end = Buffer.alloc(22);
    end.writeUInt32LE(0x06054b50, 0);
    end.writeUInt16LE(this.#entries.length, 8);
    end.writeUInt16LE(this.#entries.length, 10);
    end.writeUInt32LE(this.#at - start, 12);
    end.writeUInt32LE(start, 16);
    await this.#append(end);
    await this.close();
  }

  close(): Promise<void> {
    return this.#file.close();
  }
}

const tooLarge = (): Problem =>
  new Problem(
    'too-much-work',
    'the package would pass 4 GiB, more than its format holds; export GeoPackage and CSV apart',
  );

/** Time and date as the format has them: two seconds are its smallest step, 1980 its first year. */
function dosMoment(moment: Date): [number, number] {
  const year = Math.max(1980, moment.getUTCFullYear());
  return [
    (moment.getUTCHours() << 11) | (moment.getUTCMinutes() << 5) | (moment.getUTCSeconds() >> 1),
    ((year - 1980) << 9) | ((moment.getUTCMonth() + 1) << 5) | moment.getUTCDate(),
  ];
}

/** names are UTF-8 */
const utf8Flag = 0x0800;
const deflated = 8;

function localHeader(
  { name, crc, size, packedSize }: Pick<Entry, 'name' | 'crc' | 'size' | 'packedSize'>,
  [time, date]: readonly [number, number],
): Buffer {
  const label = Buffer.from(name);
  const out = Buffer.alloc(30 + label.length);
  out.writeUInt32LE(0x04034b50, 0);
  [20, utf8Flag, deflated, time, date].forEach((value, i) => {
    out.writeUInt16LE(value, 4 + 2 * i);
  });
  [crc, packedSize, size].forEach((value, i) => {
    out.writeUInt32LE(value, 14 + 4 * i);
  });
  out.writeUInt16LE(label.length, 26);
  label.copy(out, 30);
  return out;
}

function listEntry(entry: Entry, [time, date]: readonly [number, number]): Buffer {
  const label = Buffer.from(entry.name);
  const out = Buffer.alloc(46 + label.length);
  out.writeUInt32LE(0x02014b50, 0);
  [20, 20, utf8Flag, deflated, time, date].forEach((value, i) => {
    out.writeUInt16LE(value, 4 + 2 * i);
  });
  [entry.crc, entry.packedSize, entry.size].forEach((value, i) => {
    out.writeUInt32LE(value, 16 + 4 * i);
  });
  out.writeUInt16LE(label.length, 28);
  out.writeUInt32LE(entry.offset, 42);
  label.copy(out, 46);
  return out;
}
