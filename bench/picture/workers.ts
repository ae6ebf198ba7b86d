/** One film with a number of workers: prints ms on the clock per frame and the process's largest memory. */
import { createFramePool } from '../../src/batch/resampleFrames.js';
import { pixelFormatNamed } from '../../src/picture.js';
import { FILMS, frameOf, shaken, someFrame } from './films.js';

const [name, count] = process.argv.slice(2) as [string, string];
const film = FILMS[name]!;
const jobs = Number(count);
const FRAMES = 12;

const format = pixelFormatNamed(film.pixels);
const options = { source: frameOf(film), format };
const pool = await createFramePool({ result: shaken(4 * jobs + FRAMES), options }, jobs);
const source = someFrame(pool.sourceBytes, format.bits > 8);
const targets = Array.from(
  { length: jobs },
  () => new Uint8Array(new SharedArrayBuffer(pool.targetBytes)),
);

async function frames(from: number, to: number): Promise<void> {
  let next = from;
  const keepBusy = async (target: Uint8Array) => {
    while (next < to) await pool.resample(next++, source, target);
  };
  await Promise.all(targets.map(keepBusy));
}

await frames(0, 4 * jobs);
const before = performance.now();
await frames(4 * jobs, 4 * jobs + FRAMES);
const ms = (performance.now() - before) / FRAMES;
await pool.close();
const peakMb = Math.round(process.resourceUsage().maxRSS / 1024);
process.stdout.write(JSON.stringify({ ms, peakMb }));
