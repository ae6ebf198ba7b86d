/**
 * A folder of gyro logs, corrected one after the other; one bad log does not stop the rest.
 * Run: node docs/examples/gyro-batch.mjs IN_FOLDER OUT_FOLDER 60000/1001
 */
import { readdirSync } from 'node:fs';
import { join, parse } from 'node:path';
import { correct, isTwinkeelError, orientLog, parseFrameRate } from 'twinkeel';
import { readMotionLogFile, writeResult } from 'twinkeel/node';

const [from, to, rate] = process.argv.slice(2);
if (rate === undefined) {
  console.error('usage: node gyro-batch.mjs IN_FOLDER OUT_FOLDER FRAME_RATE');
  process.exit(2);
}
const frameRate = parseFrameRate(rate);
for (const name of readdirSync(from)
  .filter((each) => each.endsWith('.csv'))
  .sort()) {
  try {
    // Logs with another header need { mapping: '…sentences…' } here.
    const { track } = orientLog(await readMotionLogFile(join(from, name)));
    const result = correct(track, { frameRate });
    const [corrections] = writeResult(result, to, parse(name).name);
    console.log(`${name}: ${result.verdict}, wrote ${corrections}`);
  } catch (error) {
    if (!isTwinkeelError(error)) throw error;
    console.log(`${name}: failed, ${error.message}`);
    process.exitCode = 1;
  }
}
console.log('Judge it in a headset, stop at the first sign of discomfort. No medical advice.');
