/**
 * twinkeel inside another tool: your program has orientations in memory and wants, for each frame,
 * the rotation that steadies it. Run: node docs/examples/imported.mjs
 */
import { correct, judge } from 'twinkeel';
import { quaternionAt } from 'twinkeel/rotation';
import { createTrack } from 'twinkeel/track';

/** What a tracker of yours may hand over: one orientation per frame, camera to world. */
function nightWalk() {
  const frameRate = { numerator: 60000, denominator: 1001 };
  const count = 600;
  const times = Float64Array.from({ length: count }, (_, k) => (k * 1001) / 60000);
  const quaternions = new Float64Array(4 * count);
  times.forEach((time, k) => {
    // Down the aisle, nodding at each step and leaning with each stride.
    const nod = 0.012 * Math.sin(2 * Math.PI * 1.9 * time);
    const lean = 0.02 * Math.sin(2 * Math.PI * 0.95 * time);
    quaternions.set([nod, 0, lean, Math.sqrt(1 - nod * nod - lean * lean)], 4 * k);
  });
  return createTrack({ times, quaternions, frameRate });
}

const result = correct(nightWalk(), { limits: { totalDeg: 8 } });
const { before, after } = result.assessment;
console.log(`nodding ${before.bobDeg.toFixed(2)}° before, ${after.bobDeg.toFixed(2)}° after`);
console.log(
  'frame 100 is turned by x, y, z, w =',
  quaternionAt(result.corrections.quaternions, 100),
);

const { verdict, reasons, cautions } = judge(result);
console.log(`${verdict}; ${reasons.length} reasons`);
for (const caution of cautions) console.log(caution);
