import { TwinkeelError } from '../error.js';
import type { FrameRate } from './frameRate.js';

/**
 * The time code of a frame count. Drop-frame counting leaves out the labels :00 and :01 (at
 * 60000/1001 :00 to :03) at the start of every minute that is not a multiple of ten, so that the
 * labels keep up with the clock; no frame is lost.
 *
 * @param frame - frames since 00:00:00:00, a whole number ≥ 0; wraps after 24 hours
 * @param rate - exact frame rate
 * @param dropFrame - only for multiples of 30000/1001
 * @returns `HH:MM:SS:FF`, with `;` before the frames when dropping
 * @throws TwinkeelError `timecode/invalid` when the rate does not allow dropping
 * @see SMPTE ST 12-1 (time and control code)
 * @example
 * formatTimecode(1800, { numerator: 30000, denominator: 1001 }, true); // '00:01:00;02'
 */
export function formatTimecode(frame: number, rate: FrameRate, dropFrame: boolean): string {
  if (!(Number.isInteger(frame) && frame >= 0)) {
    throw new TwinkeelError('timecode/invalid', {
      found: `the frame count ${frame}`,
      expected: 'a whole number from 0 on',
      remedy: 'round the count',
    });
  }
  const { nominal, dropped } = counting(rate, dropFrame);
  const perMinute = nominal * 60 - dropped;
  const perTenMinutes = nominal * 600 - 9 * dropped;
  let label = frame % (perTenMinutes * 144);
  if (dropped > 0) {
    const tens = Math.floor(label / perTenMinutes);
    const within = label % perTenMinutes;
    // The first of the ten minutes is whole; each later one starts `dropped` labels late.
    const minutes = within < nominal * 60 ? 0 : 1 + Math.floor((within - nominal * 60) / perMinute);
    label += dropped * (9 * tens + minutes);
  }
  const seconds = Math.floor(label / nominal);
  const parts = [Math.floor(seconds / 3600) % 24, Math.floor(seconds / 60) % 60, seconds % 60];
  const clock = parts.map((part) => String(part).padStart(2, '0')).join(':');
  return `${clock}${dropFrame ? ';' : ':'}${String(label % nominal).padStart(2, '0')}`;
}

/**
 * The frame count of a time code.
 *
 * @param text - `HH:MM:SS:FF`; the last separator `;` or `.` means drop-frame
 * @param rate - exact frame rate
 * @param dropFrame - overrides what the separator says
 * @returns frames since 00:00:00:00
 * @throws TwinkeelError `timecode/invalid` for a malformed code or a label that dropping leaves out
 * @see SMPTE ST 12-1 (time and control code)
 * @example
 * parseTimecode('00:01:00;02', { numerator: 30000, denominator: 1001 }); // 1800
 */
export function parseTimecode(text: string, rate: FrameRate, dropFrame?: boolean): number {
  const match = /^\s*(\d{1,2}):(\d{2}):(\d{2})([:;.])(\d{2,3})\s*$/.exec(text);
  const drop = dropFrame ?? (match !== null && match[4] !== ':');
  const { nominal, dropped } = counting(rate, drop);
  const [hours, minutes, seconds, frames] = [1, 2, 3, 5].map((group) => Number(match?.[group]));
  if (!match || hours! > 23 || minutes! > 59 || seconds! > 59 || frames! >= nominal) {
    throw invalidTimecode(text, `HH:MM:SS:FF with frames below ${nominal}`);
  }
  if (dropped > 0 && seconds === 0 && frames! < dropped && minutes! % 10 !== 0) {
    throw invalidTimecode(text, 'a label that drop-frame counting uses');
  }
  const totalMinutes = hours! * 60 + minutes!;
  const label = (totalMinutes * 60 + seconds!) * nominal + frames!;
  return label - dropped * (totalMinutes - Math.floor(totalMinutes / 10));
}

/** Labels per second, and how many are left out at the start of most minutes. */
function counting(rate: FrameRate, dropFrame: boolean): { nominal: number; dropped: number } {
  const nominal = Math.round(rate.numerator / rate.denominator);
  if (!dropFrame) return { nominal, dropped: 0 };
  if (nominal % 30 !== 0 || rate.numerator * 1001 !== nominal * 1000 * rate.denominator) {
    throw new TwinkeelError('timecode/invalid', {
      found: `drop-frame time code at ${rate.numerator}/${rate.denominator}`,
      expected: '30000/1001, 60000/1001 or 120000/1001',
      remedy: 'count without dropping at this rate',
    });
  }
  return { nominal, dropped: nominal / 15 };
}

function invalidTimecode(text: string, expected: string): TwinkeelError {
  return new TwinkeelError('timecode/invalid', {
    found: `the time code "${text}"`,
    expected,
    remedy: 'check the frame rate and whether the code drops frames',
  });
}
