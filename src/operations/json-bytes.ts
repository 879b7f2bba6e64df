const minus = 0x2d;
const point = 0x2e;
const zero = 0x30;

/** Decimals up to which a number is written digit by digit; more are left to the language, at five times the cost. */
const quickDecimals = 4;
const quickFactor = 10 ** quickDecimals;
/** Decimal numbers of at most 15 digits are told apart by doubles, so their shortest text is their digits. */
const safeDigits = 1e15;

/** JSON text as UTF-8 bytes, written piece by piece into one growing buffer. */
export class JsonBytes {
  private buffer: Buffer;
  private length = 0;
  private ascii = true;

  constructor(capacity: number) {
    this.buffer = Buffer.allocUnsafeSlow(capacity);
  }

  get size(): number {
    return this.length;
  }

  /** What was written so far, as bytes of its own; the writer starts again. */
  take(): Uint8Array {
    const out = Buffer.allocUnsafeSlow(this.length);
    this.buffer.copy(out, 0, 0, this.length);
    this.clear();
    return out;
  }

  /** What was written so far, as text; the writer starts again. */
  takeText(): string {
    const out = this.buffer.toString(this.ascii ? 'latin1' : 'utf8', 0, this.length);
    this.clear();
    return out;
  }

  private clear(): void {
    this.length = 0;
    this.ascii = true;
  }

  private room(size: number): void {
    if (this.length + size <= this.buffer.length) return;
    const wider = Buffer.allocUnsafeSlow(Math.max(2 * this.buffer.length, this.length + size));
    this.buffer.copy(wider, 0, 0, this.length);
    this.buffer = wider;
  }

  byte(code: number): void {
    this.room(1);
    this.buffer[this.length++] = code;
  }

  /** Text that is written often, as its bytes. */
  raw({ bytes, ascii }: PreparedText): void {
    this.room(bytes.length);
    const { buffer } = this;
    let at = this.length;
    // short pieces: a loop beats a call
    for (let k = 0; k < bytes.length; k++) buffer[at++] = bytes[k];
    this.length = at;
    if (!ascii) this.ascii = false;
  }

  text(value: string): void {
    this.raw(prepareText(value));
  }

  /** A quoted text from its UTF-8 bytes, from `start` up to `end`. */
  quoted(bytes: Buffer, start: number, end: number): void {
    this.room(end - start + 2);
    const { buffer } = this;
    let at = this.length;
    buffer[at++] = 0x22;
    for (let k = start; k < end; k++) {
      const byte = bytes[k];
      if (byte < 0x20 || byte > 0x7e || byte === 0x22 || byte === 0x5c) {
        // something to escape, or no plain letter: begin again the slow way
        this.text(JSON.stringify(bytes.toString('utf8', start, end)));
        return;
      }
      buffer[at++] = byte;
    }
    buffer[at++] = 0x22;
    this.length = at;
  }

  /** A finite number in its shortest form. */
  number(value: number): void {
    const scaled = Math.round(value * quickFactor);
    if (scaled / quickFactor === value && scaled < safeDigits && scaled > -safeDigits) {
      this.decimal(scaled, quickDecimals, quickFactor);
    } else this.text(String(value));
  }

  /** A finite number rounded to some decimals, at most 9. @param factor 10 to the power of `decimals` */
  rounded(value: number, decimals: number, factor: number): void {
    const scaled = Math.round(value * factor);
    if (scaled < safeDigits && scaled > -safeDigits) this.decimal(scaled, decimals, factor);
    else this.text(String(scaled / factor));
  }

  private decimal(scaled: number, decimals: number, factor: number): void {
    this.room(24 + decimals);
    const { buffer } = this;
    let at = this.length;
    let rest = scaled;
    if (scaled < 0) {
      buffer[at++] = minus;
      rest = -scaled;
    }
    let whole = Math.floor(rest / factor);
    let fraction = rest - whole * factor;
    const wholeStart = at;
    if (whole < 10) at++;
    else for (let left = whole; left >= 1; left = left < 0x7fffffff ? (left / 10) | 0 : Math.floor(left / 10)) at++;
    for (let k = at - 1; k >= wholeStart; k--) {
      const next = whole < 0x7fffffff ? (whole / 10) | 0 : Math.floor(whole / 10);
      buffer[k] = zero + (whole - 10 * next);
      whole = next;
    }
    if (fraction > 0) {
      buffer[at++] = point;
      for (let k = at + decimals - 1; k >= at; k--) {
        const next = (fraction / 10) | 0;
        buffer[k] = zero + (fraction - 10 * next);
        fraction = next;
      }
      at += decimals;
      while (buffer[at - 1] === zero) at--;
    }
    this.length = at;
  }
}

/** A piece of JSON text with its UTF-8 bytes, so that writing it again is a copy. */
export interface PreparedText {
  readonly bytes: Uint8Array;
  readonly ascii: boolean;
}

export function prepareText(value: string): PreparedText {
  const bytes = Buffer.from(value);
  return { bytes, ascii: bytes.length === value.length };
}
