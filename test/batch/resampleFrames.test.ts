import { expect, test } from 'vitest';
import { createFramePool } from '../../src/batch/resampleFrames.js';
import { pixelFormatNamed } from '../../src/picture/pixelFormat.js';
import { planResampling } from '../../src/picture/resampler.js';
import { complaint } from '../complaint.js';
import { corrected, frameOf, HALF, waves } from '../picture/pictures.js';
import { turn } from '../turns.js';

const source = frameOf(HALF, 96);
const format = pixelFormatNamed('yuv420p10le');
const result = corrected(turn([0.6, 0.64, 0.48], 0.1).q);
const options = { source, format };

/** A frame in memory that workers share. */
function shared(bytes: Uint8Array): Uint8Array {
  const out = new Uint8Array(new SharedArrayBuffer(bytes.length));
  out.set(bytes);
  return out;
}

test('workers make the same bytes as one call, any number of them at the same time', async () => {
  const frame = waves(source, format);
  const { resample, targetBytes } = planResampling(result, options);
  const alone = new Uint8Array(targetBytes);
  resample(1, frame, alone);
  const pool = await createFramePool({ result, options }, 2);
  try {
    expect([pool.sourceBytes, pool.targetBytes]).toEqual([frame.length, targetBytes]);
    const inside = shared(frame);
    const own = shared(new Uint8Array(targetBytes));
    const made = await Promise.all([
      pool.resample(0, inside),
      pool.resample(1, inside, own),
      pool.resample(1, inside),
    ]);
    for (const each of made) expect(Buffer.compare(each, alone)).toBe(0);
    expect(made[1]).toBe(own);
  } finally {
    await pool.close();
  }
});

test('a frame outside the result is refused, and the worker goes on', async () => {
  const pool = await createFramePool({ result, options }, 1);
  try {
    const inside = shared(waves(source, format));
    await expect(pool.resample(7, inside)).rejects.toEqual(
      complaint('argument/invalid', 'found the frame index 7, expected 0 to 1'),
    );
    await expect(pool.resample(0, inside)).resolves.toHaveLength(pool.targetBytes);
  } finally {
    await pool.close();
  }
});

test('memory that is not shared is refused: what a worker made there would be lost', async () => {
  const pool = await createFramePool({ result, options }, 1);
  try {
    await expect(pool.resample(0, waves(source, format))).rejects.toEqual(
      complaint('argument/invalid', 'found a source in memory of its own'),
    );
  } finally {
    await pool.close();
  }
});

test('what cannot be planned is refused before a worker starts', async () => {
  const odd = { ...source, widthPx: 190 };
  await expect(createFramePool({ result, options: { source: odd, format } }, 1)).rejects.toEqual(
    complaint('argument/invalid', 'found source: a frame of 190 × 96'),
  );
});
