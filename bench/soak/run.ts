/**
 * `node --expose-gc --import tsx bench/soak/run.ts [CLIPS]`: a thousand small clips, one behind the
 * other in one process, read, corrected and written as text; prints what memory is taken. Neither
 * column may grow with the clips. What little the heap grows is compiled code: it stands still when
 * nothing is compiled, with `node --no-opt --no-sparkplug` before the rest and fewer clips.
 */
import { correct, readTrack, toCsv, toJson, trackToCsv } from '../../src/browser.js';
import { makeWalk } from '../accuracy/walks.js';

const CLIPS = Number(process.argv[2] ?? 1000);
const STEP = 100;
/** Seconds of each clip, at 60000/1001 frames per second. */
const DURATION_S = 6;
/** Different walks, so that no clip is the one before. */
const WALKS = 20;

const RATE = { numerator: 60000, denominator: 1001 };
const { gc } = globalThis as { gc?: () => void };

const texts = Array.from({ length: WALKS }, (_, seed) => {
  const { times, measured } = makeWalk('roaming', seed, { duration: DURATION_S });
  return trackToCsv({ times, quaternions: measured, up: 'stated', warnings: [] });
});

console.log(
  `${CLIPS} clips of ${DURATION_S} s at 60000/1001 frames per second, heap ${gc ? 'after' : 'without'} a collection`,
);
console.log('clips   heap used, MB   resident, MB   bytes written, MB');
let written = 0;
for (let clip = 0; clip <= CLIPS; clip++) {
  if (clip % STEP === 0) report(clip);
  const result = correct(readTrack(texts[clip % WALKS]!, { frameRate: RATE }));
  written += toCsv(result).length + toJson(result).length;
}

function report(clip: number): void {
  gc?.();
  const { heapUsed, rss } = process.memoryUsage();
  const cells = [heapUsed, rss, written].map((bytes) => (bytes / 1e6).toFixed(1));
  const widths = [16, 15, 20];
  console.log(
    `${String(clip).padStart(5)}${cells.map((cell, k) => cell.padStart(widths[k]!)).join('')}`,
  );
}
