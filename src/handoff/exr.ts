import { TwinkeelError } from '../error.js';
import type { StMap } from './stMap.js';

/** First four bytes of an OpenEXR file, and version 2 of the single-part scanline kind. */
const MAGIC = 20000630;
const VERSION = 2;
/** Pixel type FLOAT: 32 bits. */
const FLOAT = 2;

/**
 * An ST map as an OpenEXR image: channels R = s, G = t, B = coverage, 32-bit float, uncompressed
 * scanlines from the top. 12 bytes per pixel.
 *
 * @param map - of {@link toStMap} or {@link checkPicture}
 * @returns the bytes of the file
 * @see Academy Software Foundation, OpenEXR File Layout
 * @example
 * toExr(checkPicture(8)).subarray(0, 4); // [0x76, 0x2f, 0x31, 0x01]
 */
export function toExr(map: StMap): Uint8Array<ArrayBuffer> {
  const { widthPx: width, heightPx: height } = map;
  const header = exrHeader(width, height);
  const lineBytes = 8 + 12 * width;
  const first = header.length + 8 * height;
  const out = new Uint8Array(first + height * lineBytes);
  out.set(header);
  const view = new DataView(out.buffer);
  // Channels lie in the order of their names.
  const channels = [map.coverage, map.t, map.s];
  for (let row = 0; row < height; row++) {
    const at = first + row * lineBytes;
    view.setBigUint64(header.length + 8 * row, BigInt(at), true);
    view.setInt32(at, row, true);
    view.setInt32(at + 4, 12 * width, true);
    channels.forEach((channel, c) => {
      const start = at + 8 + 4 * c * width;
      for (let i = 0; i < width; i++)
        view.setFloat32(start + 4 * i, channel[row * width + i]!, true);
    });
  }
  return out;
}

function exrHeader(width: number, height: number): Uint8Array {
  const bytes: number[] = [];
  const int = (value: number) => {
    bytes.push(value & 255, (value >> 8) & 255, (value >> 16) & 255, (value >>> 24) & 255);
  };
  const text = (value: string) => {
    for (const character of value) bytes.push(character.charCodeAt(0));
    bytes.push(0);
  };
  const float = (value: number) => {
    bytes.push(...new Uint8Array(Float32Array.of(value).buffer));
  };
  const attribute = (name: string, type: string, size: number, write: () => void) => {
    text(name);
    text(type);
    int(size);
    write();
  };
  const box = () => [0, 0, width - 1, height - 1].forEach(int);
  int(MAGIC);
  int(VERSION);
  attribute('channels', 'chlist', 3 * 18 + 1, () => {
    for (const name of ['B', 'G', 'R']) {
      text(name);
      [FLOAT, 0, 1, 1].forEach(int);
    }
    bytes.push(0);
  });
  attribute('compression', 'compression', 1, () => bytes.push(0));
  attribute('dataWindow', 'box2i', 16, box);
  attribute('displayWindow', 'box2i', 16, box);
  attribute('lineOrder', 'lineOrder', 1, () => bytes.push(0));
  attribute('pixelAspectRatio', 'float', 4, () => float(1));
  attribute('screenWindowCenter', 'v2f', 8, () => [0, 0].forEach(float));
  attribute('screenWindowWidth', 'float', 4, () => float(1));
  bytes.push(0);
  return Uint8Array.from(bytes);
}

/**
 * Reads back an image that {@link toExr} wrote; not a reader of OpenEXR in general.
 *
 * @param bytes - of the file
 * @throws TwinkeelError `read/binary` when it is another file or cut off
 * @example
 * readExr(toExr(checkPicture(8))).widthPx; // 8
 */
export function readExr(bytes: Uint8Array): StMap {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const size = exrHeader(1, 1).length;
  if (bytes.length < size || view.getInt32(0, true) !== MAGIC)
    throw notOurs('another kind of file');
  const dataWindow = indexOf(bytes, 'dataWindow\0box2i\0') + 'dataWindow\0box2i\0'.length + 4;
  if (dataWindow + 16 > bytes.length) throw notOurs('a file that is cut off');
  const width = view.getInt32(dataWindow + 8, true) + 1;
  const height = view.getInt32(dataWindow + 12, true) + 1;
  if (width < 1 || height < 1) throw notOurs(`an image of ${width} x ${height} pixels`);
  const expected = exrHeader(width, height);
  const lineBytes = 8 + 12 * width;
  const first = expected.length + 8 * height;
  if (!expected.every((byte, i) => byte === bytes[i])) throw notOurs('another layout of channels');
  if (bytes.length !== first + height * lineBytes) throw notOurs('a file that is cut off');
  const [coverage, t, s] = [0, 1, 2].map((c) =>
    Float32Array.from({ length: width * height }, (_, i) => {
      const row = Math.floor(i / width);
      return view.getFloat32(first + row * lineBytes + 8 + 4 * (c * width + (i % width)), true);
    }),
  ) as [Float32Array, Float32Array, Float32Array];
  if ([s, t, coverage].some((plane) => plane.some(Number.isNaN))) {
    throw notOurs('a pixel that is no number');
  }
  return { widthPx: width, heightPx: height, s, t, coverage };
}

function indexOf(bytes: Uint8Array, text: string): number {
  for (let i = 0; i + text.length < Math.min(bytes.length, 1024); i++) {
    let k = 0;
    while (k < text.length && bytes[i + k] === text.charCodeAt(k)) k++;
    if (k === text.length) return i;
  }
  throw notOurs('a file without a data window');
}

function notOurs(found: string): TwinkeelError {
  return new TwinkeelError('read/binary', {
    found,
    expected: 'an ST map that twinkeel wrote (OpenEXR, 32-bit float, uncompressed)',
    remedy: 'write the map again',
  });
}
