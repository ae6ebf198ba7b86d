import { errorInFile, TwinkeelError } from '../error.js';
import type { Table } from '../read/table.js';
import { directionOfPoint, type ImageCircle } from '../rig/lens.js';
import type { StereoRig } from '../rig/stereoRig.js';
import { openTable } from './openRecording.js';

/** The same points seen by both eyes: unit directions, length 3n each. */
export interface Matches {
  /** In the left eye's own axes. */
  readonly left: Float64Array;
  /** In the right eye's own axes. */
  readonly right: Float64Array;
}

const DIRECTIONS = ['left_x', 'left_y', 'left_z', 'right_x', 'right_y', 'right_z'];
const POINTS = ['left_x_px', 'left_y_px', 'right_x_px', 'right_y_px'];

/**
 * Reads matches for `alignLenses`: directions `left_x,left_y,left_z,right_x,right_y,right_z` in
 * each eye's own axes, or points `left_x_px,left_y_px,right_x_px,right_y_px` in pixels from the top
 * left corner of each eye's picture, for which lens and image circle must be known.
 *
 * @param path - of the table
 * @param picture - lens and image circle; only points need them
 * @throws TwinkeelError naming file, row and column
 * @example
 * const content = 'left_x,left_y,left_z,right_x,right_y,right_z\n0,0,-2,0.6,0,-0.8\n';
 * writeFiles([{ path: `${folder}/matches.csv`, content }]);
 * const { left, right } = await readMatchesFile(`${folder}/matches.csv`);
 * left; // [0, 0, -1]
 * right; // [0.6, 0, -0.8]
 */
export async function readMatchesFile(
  path: string,
  picture?: { readonly lens: StereoRig['lens']; readonly circle: ImageCircle },
): Promise<Matches> {
  try {
    const table = await openTable(path);
    const has = (names: readonly string[]) => names.every((name) => table.header?.includes(name));
    if (has(DIRECTIONS)) {
      return { left: unitVectors(table, 'left'), right: unitVectors(table, 'right') };
    }
    if (has(POINTS) && picture) {
      return {
        left: fromPoints(table, 'left', picture),
        right: fromPoints(table, 'right', picture),
      };
    }
    throw new TwinkeelError('mapping/column', {
      found: `the columns ${table.header?.join(', ') ?? '(no header)'}${has(POINTS) ? ' and no image circle' : ''}`,
      expected: `${DIRECTIONS.join(',')}, or ${POINTS.join(',')} together with lens and image circle`,
      remedy: 'write the header, and give the picture for points',
    });
  } catch (error) {
    throw errorInFile(error, path);
  }
}

function columnsOf(table: Table, names: readonly string[]): Float64Array[] {
  return names.map((name) => table.numbers(table.header!.indexOf(name)));
}

function unitVectors(table: Table, eye: string): Float64Array {
  const columns = columnsOf(table, [`${eye}_x`, `${eye}_y`, `${eye}_z`]);
  const out = new Float64Array(3 * table.rowCount);
  for (let k = 0; k < table.rowCount; k++) {
    const norm = Math.hypot(...columns.map((column) => column[k]!));
    if (!(norm > 0)) {
      throw new TwinkeelError('rotation/no-direction', {
        line: table.lineOf(k),
        column: `"${eye}_x"`,
        found: 'a direction of length 0',
        expected: 'three numbers that are not all zero',
        remedy: 'delete the match',
      });
    }
    columns.forEach((column, axis) => {
      out[3 * k + axis] = column[k]! / norm;
    });
  }
  return out;
}

function fromPoints(
  table: Table,
  eye: string,
  { lens, circle }: { lens: StereoRig['lens']; circle: ImageCircle },
): Float64Array {
  const [x, y] = columnsOf(table, [`${eye}_x_px`, `${eye}_y_px`]);
  const out = new Float64Array(3 * table.rowCount);
  for (let k = 0; k < table.rowCount; k++) {
    const off = Math.hypot(x![k]! - circle.centrePx[0], y![k]! - circle.centrePx[1]);
    if (off > circle.diameterPx / 2) {
      throw new TwinkeelError('read/cell', {
        line: table.lineOf(k),
        column: `"${eye}_x_px"`,
        found: `a point ${off.toFixed(0)} px from the middle`,
        expected: `a point within the image circle, ${circle.diameterPx / 2} px`,
        remedy: 'correct the circle or delete the match',
      });
    }
    out.set(directionOfPoint([x![k]!, y![k]!], lens, circle), 3 * k);
  }
  return out;
}
