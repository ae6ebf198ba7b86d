/** What a value that is no object may be: numbers are finite. */
export type Kind = 'number' | 'boolean' | 'word';

/** What must stand in an object; an entry that may be left out ends in `?`. */
export interface Shape {
  readonly [name: string]: Kind | Shape;
}

/** A shape of numbers. */
export const figures = <Name extends string>(...names: readonly Name[]) =>
  Object.fromEntries(names.map((name) => [name, 'number'])) as Record<Name, 'number'>;

/** Whether a value is of a kind, or has all entries of a shape. */
export function fits(value: unknown, wanted: Kind | Shape): boolean {
  if (wanted === 'number') return Number.isFinite(value);
  if (wanted === 'boolean') return typeof value === 'boolean';
  if (wanted === 'word') return typeof value === 'string';
  if (value === null || typeof value !== 'object') return false;
  return Object.entries(wanted).every(([name, kind]) => {
    const inner = (value as Record<string, unknown>)[name.replace('?', '')];
    return (inner === undefined && name.endsWith('?')) || fits(inner, kind);
  });
}

/** Whether a value is a list with entries of a shape only. */
export function listFits(list: unknown, shape: Shape): boolean {
  return Array.isArray(list) && list.every((each) => fits(each, shape));
}
