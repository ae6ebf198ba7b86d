const MINUS = 45;
const POINT = 46;
const ZERO = 48;

/** Scaled values below this have a fraction to round by. */
const LARGEST_SCALED = 2 ** 45;

/** The bytes of the four digits of 0 to 9999, the first digit in the lowest byte. */
const FOUR_DIGITS = Int32Array.from({ length: 10000 }, (_, k) =>
  [1, 10, 100, 1000].reduce(
    (bytes, unit) => (bytes << 8) | (ZERO + (Math.floor(k / unit) % 10)),
    0,
  ),
);

/** Text of numbers as bytes, in memory that grows. */
export class DecimalWriter {
  private bytes: Uint8Array;
  private view: DataView;
  private length = 0;

  /** @param room - bytes to start with; a good guess saves copies */
  constructor(room = 1024) {
    this.bytes = new Uint8Array(room);
    this.view = new DataView(this.bytes.buffer);
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
   * 2^-53 of itself; where twice that could change the rounding, and for large values, `toFixed()`
   * itself decides.
   *
   * @param decimals - from 1 to 18; powers of ten up to 10^18 are exact
   */
  fixed(value: number, decimals: number): void {
    const scale = SCALES[decimals]!;
    const scaled = Math.abs(value) * scale;
    let units = Math.floor(scaled);
    const above = scaled - units;
    if (!(scaled < LARGEST_SCALED) || Math.abs(above - 0.5) <= scaled * 2 ** -52) {
      this.text(value.toFixed(decimals));
      return;
    }
    if (above > 0.5) units++;
    this.grow(decimals + 18);
    if (value < 0) this.bytes[this.length++] = MINUS;
    // A quotient of whole numbers below 2^46 cannot round up to a whole one.
    const whole = Math.floor(units / scale);
    if (whole < 10) this.bytes[this.length++] = ZERO + whole;
    else if (whole < 1e9) this.whole(whole);
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

  /** Writes the last `count` digits of a whole number, four at a time, in parts that fit 32 bits. */
  private fraction(value: number, count: number): void {
    const { bytes, view } = this;
    let i = this.length + count;
    this.length = i;
    let rest = value;
    for (let left = count; left > 0; left -= 8) {
      const above = left > 8 ? Math.floor(rest / 1e8) : 0;
      let part = (rest - above * 1e8) | 0;
      rest = above;
      let size = Math.min(left, 8);
      for (; size >= 4; size -= 4) {
        const next = (part / 10000) | 0;
        i -= 4;
        view.setInt32(i, FOUR_DIGITS[part - Math.imul(next, 10000)]!, true);
        part = next;
      }
      for (; size > 0; size--) {
        const next = (part / 10) | 0;
        bytes[--i] = ZERO + part - Math.imul(next, 10);
        part = next;
      }
    }
  }

  /** Makes room for more bytes. */
  private grow(more: number): void {
    if (this.length + more <= this.bytes.length) return;
    const grown = new Uint8Array(Math.max(this.length + more, 2 * this.bytes.length));
    grown.set(this.bytes.subarray(0, this.length));
    this.bytes = grown;
    this.view = new DataView(grown.buffer);
  }
}

const SCALES = Float64Array.from({ length: 19 }, (_, k) => Number(`1e${k}`));

function digitCount(value: number): number {
  let count = 1;
  for (let limit = 10; value >= limit; limit *= 10) count++;
  return count;
}
