const MINUS = 45;
const POINT = 46;
const ZERO = 48;

/** Scaled values below this are rounded here: the product's error then stays below 2^-8. */
const LARGEST_SCALED = 2 ** 45;

/** The two digits of 0 to 99, one behind the other. */
const DIGIT_PAIRS = Uint8Array.from({ length: 200 }, (_, k) =>
  k % 2 === 0 ? ZERO + Math.floor(k / 20) : ZERO + (((k - 1) / 2) % 10),
);

/** Text of numbers as bytes, in memory that grows. */
export class DecimalWriter {
  private bytes: Uint8Array;
  private length = 0;

  /** @param room - bytes to start with; a good guess saves copies */
  constructor(room = 1024) {
    this.bytes = new Uint8Array(room);
  }

  /** Everything written so far. */
  finish(): Uint8Array {
    return this.bytes.subarray(0, this.length);
  }

  /** Forgets what was written; its bytes are going to be overwritten. */
  clear(): void {
    this.length = 0;
  }

  /** Writes one ASCII byte. */
  byte(byte: number): void {
    if (this.length === this.bytes.length) this.grow(1);
    this.bytes[this.length++] = byte;
  }

  /** Writes ASCII text. */
  text(text: string): void {
    this.grow(text.length);
    for (let k = 0; k < text.length; k++) this.bytes[this.length++] = text.charCodeAt(k);
  }

  /** Writes a whole number as `String()` has it. */
  integer(value: number): void {
    const digits = Math.abs(value);
    if (!Number.isInteger(value) || digits >= 1e9) {
      this.text(String(value));
      return;
    }
    this.grow(10);
    if (value < 0) this.bytes[this.length++] = MINUS;
    this.whole(digits);
  }

  /**
   * Writes a number with a fixed count of decimals, rounded as `toFixed()` does it; −0 becomes 0.
   *
   * The value is scaled and rounded to a whole number. The scaled value misses by at most
   * 2^-53 of itself; where that could change the rounding, and for large values, `toFixed()`
   * itself decides.
   *
   * @param decimals - from 1 to 18; powers of ten up to 10^18 are exact
   */
  fixed(value: number, decimals: number): void {
    const scale = SCALES[decimals]!;
    const scaled = Math.abs(value) * scale;
    let units = Math.floor(scaled);
    const above = scaled - units;
    if (!(scaled < LARGEST_SCALED) || Math.abs(above - 0.5) < 2 ** -7) {
      this.text(value.toFixed(decimals));
      return;
    }
    if (above > 0.5) units++;
    this.grow(decimals + 18);
    if (value < 0) this.bytes[this.length++] = MINUS;
    // A quotient of whole numbers below 2^46 cannot round up to a whole one.
    const whole = Math.floor(units / scale);
    if (whole < 1e9) this.whole(whole);
    else this.text(String(whole));
    this.bytes[this.length++] = POINT;
    this.fraction(units - whole * scale, decimals);
  }

  /** Writes a whole number below 10^9. */
  private whole(value: number): void {
    const { bytes } = this;
    const count = digitCount(value);
    let rest = value | 0;
    let i = this.length + count;
    this.length = i;
    do {
      const next = (rest / 10) | 0;
      bytes[--i] = ZERO + rest - Math.imul(next, 10);
      rest = next;
    } while (rest > 0);
  }

  /** Writes the last `count` digits of a whole number, in groups that fit 32 bits. */
  private fraction(value: number, count: number): void {
    const { bytes } = this;
    let i = this.length + count;
    this.length = i;
    let rest = value;
    let left = count;
    while (left > 0) {
      const above = Math.floor(rest / 1e6);
      let group = (rest - above * 1e6) | 0;
      rest = above;
      let size = Math.min(left, 6);
      left -= size;
      for (; size >= 2; size -= 2) {
        const next = (group / 100) | 0;
        const pair = (group - Math.imul(next, 100)) << 1;
        bytes[--i] = DIGIT_PAIRS[pair + 1]!;
        bytes[--i] = DIGIT_PAIRS[pair]!;
        group = next;
      }
      if (size === 1) bytes[--i] = ZERO + (group % 10);
    }
  }

  /** Makes room for more bytes. */
  private grow(more: number): void {
    if (this.length + more <= this.bytes.length) return;
    const grown = new Uint8Array(Math.max(this.length + more, 2 * this.bytes.length));
    grown.set(this.bytes.subarray(0, this.length));
    this.bytes = grown;
  }
}

const SCALES = Float64Array.from({ length: 19 }, (_, k) => Number(`1e${k}`));

function digitCount(value: number): number {
  let count = 1;
  for (let limit = 10; value >= limit; limit *= 10) count++;
  return count;
}
