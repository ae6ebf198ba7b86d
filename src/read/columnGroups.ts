import type { ColumnReference } from './mapping.js';

/** Every column of a table once; those of a group are kept side by side, row by row. */
export type ColumnGroups = readonly (readonly number[])[];

/** Says which columns of a table with this header will be wanted side by side. */
export type ColumnsTogether = (
  header: readonly string[] | undefined,
  columnCount: number,
) => ColumnGroups;

/** Groups of one, where nothing is known. */
export const eachAlone: ColumnsTogether = (_, columnCount) => withOthers([], columnCount);

/** The column that a mapping names, or -1 where there is none or more than one. */
export function columnIndex(
  header: readonly string[] | undefined,
  columnCount: number,
  reference: ColumnReference,
): number {
  if (typeof reference === 'number') return reference <= columnCount ? reference - 1 : -1;
  const index = header?.indexOf(reference) ?? -1;
  return header?.lastIndexOf(reference) === index ? index : -1;
}

/** Groups of columns that exist and that no group before has; every other column alone. */
export function withOthers(wanted: ColumnGroups, columnCount: number): ColumnGroups {
  const free = new Uint8Array(columnCount).fill(1);
  const groups: (readonly number[])[] = [];
  for (const group of wanted) {
    const fits = group.every((column, k) => free[column] === 1 && group.indexOf(column) === k);
    if (!fits) continue;
    for (const column of group) free[column] = 0;
    groups.push(group);
  }
  for (let column = 0; column < columnCount; column++) if (free[column]) groups.push([column]);
  return groups;
}

/** For each cell of rows at hand, in the order of reading, its place where groups lie one by one. */
export function cellSlots(groups: ColumnGroups, columnCount: number, rows: number): Int32Array {
  const slots = new Int32Array(columnCount * rows);
  let start = 0;
  for (const group of groups) {
    const width = group.length;
    group.forEach((column, k) => {
      for (let row = 0; row < rows; row++) {
        slots[row * columnCount + column] = start + row * width + k;
      }
    });
    start += width * rows;
  }
  return slots;
}
