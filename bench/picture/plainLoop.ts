import { spawnSync } from 'node:child_process';
import { closeSync, openSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { built } from './built.js';
import { type Film, frameOf, shaken, someFrame } from './films.js';

const COMPILER = 'g++';

/**
 * Processor milliseconds of the plain C++ loop for one frame: the cells that the library hands to its
 * kernel, the mesh made beforehand.
 *
 * @returns nothing without a compiler
 */
export async function plainLoop(film: Film, folder: string): Promise<number | undefined> {
  const program = join(folder, 'resample');
  const source = fileURLToPath(new URL('resample.cpp', import.meta.url));
  if (spawnSync(COMPILER, ['-O3', '-std=c++17', source, '-o', program]).status !== 0)
    return undefined;
  const path = join(folder, 'frame.bin');
  await writePlanes(film, path, 5);
  const { stdout, status } = spawnSync(program, [path], { encoding: 'utf8' });
  if (status !== 0) throw new Error('the plain loop failed');
  return Number(stdout.split(' ')[0]);
}

async function writePlanes(film: Film, path: string, rounds: number): Promise<void> {
  const { createMesher, CELL_LENGTH, CELL } = await built('picture/mesh');
  const { raysOf } = await built('picture/rays');
  const { planesOf, pixelFormatNamed, frameBytes } = await built('picture/pixelFormat');
  const { crowdingOf, RECORD_LENGTH, samplesOf, writeRecord } = await built('picture/cellRecords');
  const { loadPlane, paddedLength, partOf } = await built('picture/sourcePlane');
  const { eyePicture, eyeRectangle } = await built('picture/stereoFrame');
  const { tapTables } = await built('picture/tapTables');
  const { FILTERS } = await built('picture/filters');
  const format = pixelFormatNamed(film.pixels);
  const frame = frameOf(film);
  const picture = eyePicture(frame, 'left');
  const rays = raysOf(shaken(2))(1, 'left', picture, picture);
  const mesh = createMesher(picture, picture)({ rays }, 0, picture.heightPx);
  const bytes = someFrame(frameBytes(format, film.widthPx, film.heightPx), format.bits > 8);
  const file = openSync(path, 'w');
  const words = (...numbers: number[]) => writeSync(file, BigInt64Array.from(numbers, BigInt));
  words(6, format.bits, rounds);
  writeSync(file, tapTables(FILTERS.bicubic).across);
  for (const eye of ['left', 'right'] as const) {
    for (const plane of planesOf(format, film.widthPx, film.heightPx)) {
      const part = partOf(plane, eyeRectangle(frame, eye));
      const length = plane.width * plane.height;
      const whole =
        format.bytesPerSample === 1
          ? new Uint8Array(bytes.buffer, plane.offset, length)
          : new Uint16Array(bytes.buffer, plane.offset, length);
      const room =
        format.bytesPerSample === 1
          ? new Uint8Array(paddedLength(part))
          : new Uint16Array(paddedLength(part));
      const padded = loadPlane(room, whole, plane, part, picture);
      const records = new Float64Array(mesh.count * RECORD_LENGTH);
      const here = { left: 0, right: 0, top: 0, bottom: 0 };
      let count = 0;
      for (let n = 0; n < mesh.count; n++) {
        if (mesh.kinds[n] !== CELL.seen && mesh.kinds[n] !== CELL.edge) continue;
        const c = n * CELL_LENGTH;
        samplesOf(mesh.cells, c, plane, part.width, part.height, here);
        if (here.left >= here.right || here.top >= here.bottom) continue;
        const o = count++ * RECORD_LENGTH;
        writeRecord(mesh.cells, c, here, plane, crowdingOf(picture), records, o);
      }
      words(count, padded.stride, padded.rows, part.width, part.height, ...plane.step);
      writeSync(file, records.subarray(0, count * RECORD_LENGTH));
      writeSync(file, padded.samples);
    }
  }
  closeSync(file);
}
