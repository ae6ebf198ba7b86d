import { errorInFile, TwinkeelError } from '../error.js';
import { RADIANS_PER_DEGREE } from '../math.js';
import type { AimKey } from '../motion/aim.js';
import { openTable } from './openRecording.js';

/**
 * Reads aim keys: `time_s,heading_deg,tilt_deg,roll_deg`, the last column optional.
 *
 * @throws TwinkeelError naming file, row and column
 */
export async function readAimFile(path: string): Promise<AimKey[]> {
  try {
    const table = await openTable(path);
    const column = (name: string) => table.header?.indexOf(name) ?? -1;
    const [time, heading, tilt] = ['time_s', 'heading_deg', 'tilt_deg'].map((name) => {
      if (column(name) >= 0) return table.numbers(column(name));
      throw new TwinkeelError('mapping/column', {
        found: `the columns ${table.header?.join(', ') ?? '(no header)'}`,
        expected: 'time_s,heading_deg,tilt_deg and, if wanted, roll_deg',
        remedy: 'write the header',
      });
    });
    const roll = column('roll_deg') >= 0 ? table.numbers(column('roll_deg')) : undefined;
    return Array.from(time!, (seconds, k) => ({
      time: seconds,
      heading: heading![k]! * RADIANS_PER_DEGREE,
      tilt: tilt![k]! * RADIANS_PER_DEGREE,
      ...(roll && { roll: roll[k]! * RADIANS_PER_DEGREE }),
    }));
  } catch (error) {
    throw errorInFile(error, path);
  }
}
