import { TwinkeelError } from '../error.js';

/** What the operator says about a stretch of the clip. */
export interface Marker {
  /** Seconds from the first sample. */
  readonly from: number;
  /** Seconds from the first sample; after `from`. */
  readonly to: number;
  /** `move`: what the camera does there is meant, however slow; `hold`: nothing there is. */
  readonly intent: 'move' | 'hold';
}

/**
 * Markers as one number per sample: 1 move, −1 hold, 0 nothing. Later markers win.
 *
 * @throws TwinkeelError `argument/invalid` naming the marker that ends before it starts or lies
 *   outside the clip
 */
export function markSamples(
  markers: readonly Marker[],
  count: number,
  sampleRate: number,
): Int8Array {
  const marks = new Int8Array(count);
  const duration = (count - 1) / sampleRate;
  markers.forEach(({ from, to, intent }, index) => {
    const known = intent === 'move' || intent === 'hold';
    if (!(known && from < to && to > 0 && from < duration)) {
      throw new TwinkeelError('argument/invalid', {
        timeS: from,
        found: `marker ${index + 1}, "${intent}" from ${from} s to ${to} s`,
        expected: `"move" or "hold" over a stretch within 0 to ${duration.toFixed(2)} s`,
        remedy: 'correct the marker',
      });
    }
    const first = Math.max(0, Math.round(from * sampleRate));
    marks.fill(intent === 'move' ? 1 : -1, first, Math.round(to * sampleRate) + 1);
  });
  return marks;
}
