/**
 * Names of records in the order they were first seen: entry i has number i. Holds a million find numbers as bytes in
 * a few flat arrays, where a map of strings would take ten times the room.
 */
export class KeyIndex {
  #bytes = new Uint8Array(1024);
  #ends = new Uint32Array(64);
  #hashes = new Int32Array(64);
  /** entry number + 1 of each slot, 0 = free; at least half the slots are free */
  #slots = new Uint32Array(128);
  #length = 0;

  get length(): number {
    return this.#length;
  }

  /** Number of the key in bytes[start … end − 1], which is added when it is new. */
  add(bytes: Uint8Array, start: number, end: number): number {
    const hash = hashBytes(bytes, start, end);
    const slot = this.#slotOf(hash, bytes, start, end);
    if (this.#slots[slot] !== 0) return this.#slots[slot] - 1;
    this.#append(bytes, start, end);
    const entry = this.#length++;
    this.#hashes[entry] = hash;
    this.#slots[slot] = entry + 1;
    if (this.#length * 2 > this.#slots.length) this.#rehash();
    return entry;
  }

  /** Number of a key, −1 when it was never added. */
  find(bytes: Uint8Array, start: number, end: number): number {
    const slot = this.#slotOf(hashBytes(bytes, start, end), bytes, start, end);
    return this.#slots[slot] - 1;
  }

  /** Keys from entry `from` to before entry `to`: their bytes (good until a key is added), and the end of each counted from the first. */
  slice(from: number, to: number): { bytes: Uint8Array; ends: Uint32Array } {
    const start = from === 0 ? 0 : this.#ends[from - 1];
    const ends = this.#ends.slice(from, to);
    const bytes = this.#bytes.subarray(start, to === 0 ? 0 : this.#ends[to - 1]);
    for (let i = 0; i < ends.length; i++) ends[i] -= start;
    return { bytes, ends };
  }

  // four plain arguments here and below: a named object for each of a million look-ups costs more than the look-up
  #slotOf(hash: number, bytes: Uint8Array, start: number, end: number): number {
    const mask = this.#slots.length - 1;
    let slot = hash & mask;
    for (;;) {
      const entry = this.#slots[slot] - 1;
      if (entry < 0 || (this.#hashes[entry] === hash && this.#same(entry, bytes, start, end))) return slot;
      slot = (slot + 1) & mask;
    }
  }

  #same(entry: number, bytes: Uint8Array, start: number, end: number): boolean {
    let at = entry === 0 ? 0 : this.#ends[entry - 1];
    if (this.#ends[entry] - at !== end - start) return false;
    const own = this.#bytes;
    for (let i = start; i < end; i++) if (own[at++] !== bytes[i]) return false;
    return true;
  }

  #append(bytes: Uint8Array, start: number, end: number): void {
    let at = this.#length === 0 ? 0 : this.#ends[this.#length - 1];
    if (at + end - start > this.#bytes.length) {
      const grown = new Uint8Array(Math.max(this.#bytes.length * 2, at + end - start));
      grown.set(this.#bytes);
      this.#bytes = grown;
    }
    for (let i = start; i < end; i++) this.#bytes[at++] = bytes[i];
    if (this.#length === this.#ends.length) {
      const ends = new Uint32Array(this.#length * 2);
      ends.set(this.#ends);
      this.#ends = ends;
      const hashes = new Int32Array(this.#length * 2);
      hashes.set(this.#hashes);
      this.#hashes = hashes;
    }
    this.#ends[this.#length] = at;
  }

  #rehash(): void {
    this.#slots = new Uint32Array(this.#slots.length * 2);
    const mask = this.#slots.length - 1;
    for (let entry = 0; entry < this.#length; entry++) {
      let slot = this.#hashes[entry] & mask;
      while (this.#slots[slot] !== 0) slot = (slot + 1) & mask;
      this.#slots[slot] = entry + 1;
    }
  }
}

/** FNV-1a over bytes, then a finaliser: find numbers differ in their last digits only, and the low bits pick the slot. */
export function hashBytes(bytes: Uint8Array, start: number, end: number): number {
  let hash = 0x811c9dc5 | 0;
  for (let i = start; i < end; i++) hash = Math.imul(hash ^ bytes[i], 0x01000193);
  hash ^= hash >>> 15;
  hash = Math.imul(hash, 0x85ebca6b);
  return hash ^ (hash >>> 13);
}
