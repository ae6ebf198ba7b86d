/**
 * `npm run bench:picture`: what one corrected frame costs in TypeScript, in WebAssembly, in a plain C++
 * loop and in ffmpeg's filter, all in one run; with one and two workers; and the memory it takes.
 * Processor time but for the workers', which is time on the clock. Absolute times depend on the machine;
 * read the ratios.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { CorrectionResult } from '../../src/correct.js';
import { built } from './built.js';
import { throughEncoder, v360 } from './ffmpegFilter.js';
import { FILMS, type Film, frameOf, shaken, someFrame } from './films.js';
import { plainLoop } from './plainLoop.js';

const folder = mkdtempSync(join(tmpdir(), 'twinkeel-bench-'));
const FRAMES = 8;

try {
  const rows = [];
  for (const film of FILMS) {
    const wasm = await perFrame(film);
    const typescript = await perFrame(film, 'typescript');
    const cpp = await plainLoop(film, folder);
    const filter = v360(film, 3, folder);
    const encoder = throughEncoder(film, 12, folder);
    rows.push({
      film: `${film.widthPx}×${film.heightPx} ${film.pixels}`,
      'WebAssembly, ms': round(wasm),
      'TypeScript, ms': round(typescript),
      'C++, ms': round(cpp),
      'v360, ms': round(filter),
      'decode + encode, ms': round(encoder),
      'TypeScript/WebAssembly': ratio(typescript, wasm),
      'WebAssembly/C++': ratio(wasm, cpp),
      'v360/WebAssembly': ratio(filter, wasm),
    });
  }
  console.table(rows);
  const workers = [];
  for (const film of FILMS) {
    const [one, two] = [await withWorkers(film, 1), await withWorkers(film, 2)];
    workers.push({
      film: `${film.widthPx}×${film.heightPx} ${film.pixels}`,
      'one worker, ms on the clock': round(one.ms),
      'two workers, ms on the clock': round(two.ms),
      'one/two': ratio(one.ms, two.ms),
      'peak with two, MB': two.peakMb,
    });
  }
  console.table(workers);
} finally {
  rmSync(folder, { recursive: true });
}

/** Processor time per frame, ms: the median after the first frames, which engines take to warm up. */
async function perFrame(film: Film, kernel?: 'typescript'): Promise<number> {
  const { planResampling, pixelFormatNamed } = await built('picture');
  const format = pixelFormatNamed(film.pixels);
  const result = shaken(FRAMES);
  const plan = planResampling(result, { source: frameOf(film), format, ...(kernel && { kernel }) });
  const source = someFrame(plan.sourceBytes, format.bits > 8);
  const target = new Uint8Array(plan.targetBytes);
  const times: number[] = [];
  for (let k = 0; k < FRAMES; k++) {
    const before = process.cpuUsage();
    plan.resample(k, source, target);
    const { user, system } = process.cpuUsage(before);
    times.push((user + system) / 1000);
  }
  return times.slice(FRAMES / 2).sort((a, b) => a - b)[FRAMES / 4]!;
}

/** Time on the clock per frame with all workers busy, ms, and this process's largest memory, MB. */
async function withWorkers(film: Film, jobs: number): Promise<{ ms: number; peakMb: number }> {
  const { createFramePool } = await built('batch/resampleFrames');
  const { pixelFormatNamed } = await built('picture');
  const format = pixelFormatNamed(film.pixels);
  const result: CorrectionResult = shaken(4 * FRAMES);
  const pool = createFramePool({ result, options: { source: frameOf(film), format } }, jobs);
  const source = someFrame(pool.sourceBytes, format.bits > 8);
  const targets = Array.from(
    { length: jobs },
    () => new Uint8Array(new SharedArrayBuffer(pool.targetBytes)),
  );
  const frames = async (from: number, to: number) => {
    let next = from;
    const keepBusy = async (target: Uint8Array) => {
      while (next < to) await pool.resample(next++, source, target);
    };
    await Promise.all(targets.map(keepBusy));
  };
  await frames(0, 4 * jobs);
  const before = performance.now();
  await frames(8, 8 + 2 * FRAMES);
  const ms = (performance.now() - before) / (2 * FRAMES);
  await pool.close();
  return { ms, peakMb: Math.round(process.resourceUsage().maxRSS / 1024) };
}

function round(ms: number | undefined): number | string {
  return ms === undefined ? 'skipped' : Math.round(ms);
}

function ratio(a: number | undefined, b: number | undefined): string {
  return a === undefined || b === undefined ? 'skipped' : (a / b).toFixed(2);
}
