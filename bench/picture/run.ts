/**
 * `npm run bench:picture [-- 4096x2048|8192x4096|8192x4096-10 …]`: what one corrected frame costs in
 * TypeScript, in WebAssembly, in a plain C++ loop and in ffmpeg's filter, all in one run; with one and two
 * workers; and the memory it takes. Processor time but for the workers', which is time on the clock.
 * Absolute times depend on the machine; read the ratios.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { built } from './built.js';
import { throughEncoder, v360 } from './ffmpegFilter.js';
import { FILMS, type Film, frameOf, shaken, someFrame } from './films.js';
import { plainLoop } from './plainLoop.js';

const folder = mkdtempSync(join(tmpdir(), 'twinkeel-bench-'));
const names = Object.keys(FILMS);
const wanted = process.argv.slice(2);
for (const word of wanted) {
  if (names.includes(word)) continue;
  console.error(`"${word}" is no part of the bench; the parts are ${names.join(', ')}`);
  process.exit(1);
}
try {
  for (const name of wanted.length > 0 ? wanted : names) await compare(name, FILMS[name]!);
} finally {
  rmSync(folder, { recursive: true });
}

async function compare(name: string, film: Film): Promise<void> {
  const wasm = await perFrame(film, 12);
  const cpp = await plainLoop(film, folder);
  const again = await perFrame(film, 12);
  const typescript = await perFrame(film, 4, 'typescript');
  const filter = v360(film, 2, folder);
  const ultrafast = throughEncoder(film, 10, 'ultrafast', folder);
  const fast = throughEncoder(film, 10, 'fast', folder);
  const best = Math.min(wasm, again);
  console.log(`\n${name}, bicubic, ms of processor time per frame`);
  console.table({
    WebAssembly: { ms: round(best), 'times WebAssembly': 1 },
    TypeScript: { ms: round(typescript), 'times WebAssembly': ratio(typescript, best) },
    'C++, plain loop': { ms: round(cpp), 'times WebAssembly': ratio(cpp, best) },
    'ffmpeg v360': { ms: round(filter), 'times WebAssembly': ratio(filter, best) },
    'decode + encode, ultrafast': {
      ms: round(ultrafast),
      'times WebAssembly': ratio(ultrafast, best),
    },
    'decode + encode, fast': { ms: round(fast), 'times WebAssembly': ratio(fast, best) },
  });
  const [one, two] = [withWorkers(name, 1), withWorkers(name, 2)];
  console.table({
    'one worker': { 'ms on the clock': round(one.ms), 'peak memory, MB': one.peakMb },
    'two workers': { 'ms on the clock': round(two.ms), 'peak memory, MB': two.peakMb },
    'one/two': { 'ms on the clock': ratio(one.ms, two.ms) },
  });
}

/** Processor time per frame, ms: the least after the first frames, which an engine takes to warm up. */
async function perFrame(film: Film, frames: number, kernel?: 'typescript'): Promise<number> {
  const { planResampling, pixelFormatNamed } = await built('picture');
  const format = pixelFormatNamed(film.pixels);
  const result = shaken(frames);
  const plan = planResampling(result, { source: frameOf(film), format, ...(kernel && { kernel }) });
  const source = someFrame(plan.sourceBytes, format.bits > 8);
  const target = new Uint8Array(plan.targetBytes);
  const times: number[] = [];
  for (let k = 0; k < frames; k++) {
    const before = process.cpuUsage();
    plan.resample(k, source, target);
    const { user, system } = process.cpuUsage(before);
    times.push((user + system) / 1000);
  }
  return Math.min(...times.slice(frames / 4));
}

/** Time on the clock per frame with all workers busy, and the memory of a process that does only that. */
function withWorkers(name: string, jobs: number): { ms: number; peakMb: number } {
  const script = fileURLToPath(new URL('workers.ts', import.meta.url));
  const { stdout, stderr, status } = spawnSync(
    process.execPath,
    [...process.execArgv, script, name, `${jobs}`],
    { encoding: 'utf8' },
  );
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout);
}

function round(ms: number | undefined): number | string {
  return ms === undefined ? 'skipped' : Math.round(ms);
}

function ratio(a: number | undefined, b: number | undefined): string {
  return a === undefined || b === undefined ? 'skipped' : (a / b).toFixed(2);
}
