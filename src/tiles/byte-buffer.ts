/** A copy with at least `room` more bytes after the first `used`, twice the size or more. */
export function widened(bytes: Uint8Array, used: number, room: number): Uint8Array<ArrayBuffer> {
  const wider = new Uint8Array(Math.max(bytes.length * 2, used + room));
  wider.set(bytes.subarray(0, used));
  return wider;
}

/** Bytes a whole number from 0 to 2^53 takes as a protocol-buffer varint. */
export function varintLength(value: number): number {
  let length = 1;
  for (let v = value; v > 127; v = Math.floor(v / 128)) length++;
  return length;
}

/** Writes a whole number from 0 to 2^53 as a varint. @returns the position after it */
export function writeVarint(bytes: Uint8Array, at: number, value: number): number {
  let o = at;
  let v = value;
  // beyond 32 bits only division is exact
  while (v > 0x7fffffff) {
    bytes[o++] = (v % 128) | 128;
    v = Math.floor(v / 128);
  }
  while (v > 127) {
    bytes[o++] = (v & 127) | 128;
    v >>>= 7;
  }
  bytes[o++] = v;
  return o;
}
