/** Bytes that wait, one behind the other. */
export class PendingBytes {
  length = 0;
  private bytes = new Uint8Array(256);

  /** Adds chunk[from…] and gives all that waits. */
  append(chunk: Uint8Array, from: number): Uint8Array {
    const length = this.length + chunk.length - from;
    if (length > this.bytes.length) {
      const grown = new Uint8Array(Math.max(length, 2 * this.bytes.length));
      grown.set(this.bytes.subarray(0, this.length));
      this.bytes = grown;
    }
    this.bytes.set(from === 0 ? chunk : chunk.subarray(from), this.length);
    this.length = length;
    return this.bytes.subarray(0, length);
  }
}
