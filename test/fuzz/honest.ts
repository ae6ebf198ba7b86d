import { isTwinkeelError } from '../../src/error.js';
import type { Reader } from './readers.js';

/**
 * What is wrong with how a reader takes some bytes: it must either read them, without a NaN in
 * what comes out, or refuse them with the library's own error.
 *
 * @returns a sentence, or undefined where all is well
 */
export function dishonesty(reader: Reader, bytes: Uint8Array): string | undefined {
  let value: unknown;
  try {
    value = reader.read(bytes);
  } catch (error) {
    if (isTwinkeelError(error)) return undefined;
    return `throws ${error instanceof Error ? error.stack : String(error)}`;
  }
  const path = nanIn(value);
  return path === undefined ? undefined : `reads no number at ${path}`;
}

/** Where something stands in a value that is no number, else undefined. */
function nanIn(value: unknown, path = 'result'): string | undefined {
  if (typeof value === 'number') return Number.isNaN(value) ? path : undefined;
  if (value === null || typeof value !== 'object') return undefined;
  if (value instanceof Float64Array || value instanceof Float32Array) {
    // An image may hold an infinite pixel; times and rotations are finite.
    const isBad = value instanceof Float32Array ? Number.isNaN : (v: number) => !Number.isFinite(v);
    const at = value.findIndex(isBad);
    return at < 0 ? undefined : `${path}[${at}]`;
  }
  if (ArrayBuffer.isView(value)) return undefined;
  for (const [key, inner] of Object.entries(value)) {
    const found = nanIn(inner, `${path}.${key}`);
    if (found !== undefined) return found;
  }
  return undefined;
}
