import { TwinkeelError } from '../error.js';

/**
 * Refuses rotations that are not finite, at the last moment before they leave: no text, picture or
 * caller gets a rotation that is none.
 *
 * @param quaternions - components one behind the other, length 4n
 * @param what - what they are, for the message
 * @throws TwinkeelError `track/not-finite` naming the frame, counted from 0
 */
export function requireFiniteRotations(quaternions: Float64Array, what: string): void {
  for (let i = 0; i < quaternions.length; i++) {
    if (!Number.isFinite(quaternions[i])) throw notFinite(quaternions[i]!, i >> 2, what);
  }
}

/**
 * Refuses a value in which a number is not finite, however deep it lies.
 *
 * @param value - figures, settings: plain data
 * @param what - what it is, for the message
 * @throws TwinkeelError `argument/not-finite` naming the entry
 */
export function requireFiniteFigures(value: unknown, what: string): void {
  if (typeof value === 'number') {
    if (Number.isFinite(value)) return;
    throw new TwinkeelError('argument/not-finite', {
      column: what,
      found: `${value}`,
      expected: 'a finite number',
      remedy: 'correct it where it comes from; nothing was written',
    });
  }
  if (value === null || typeof value !== 'object') return;
  for (const [key, inner] of Object.entries(value)) requireFiniteFigures(inner, `${what}.${key}`);
}

function notFinite(value: number, frame: number, what: string): TwinkeelError {
  return new TwinkeelError('track/not-finite', {
    frame,
    column: what,
    found: `${value}`,
    expected: 'a unit quaternion',
    remedy: 'look at the track around this frame and split the clip there',
  });
}
