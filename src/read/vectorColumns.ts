import { type ColumnsTogether, columnIndex, eachAlone, withOthers } from './columnGroups.js';
import type { Mapping } from './mapping.js';
import { recogniseHeader } from './recognise.js';

/** The columns that a mapping, or else the header, makes vectors and quaternions of. */
export function vectorColumns(given: Mapping | undefined): ColumnsTogether {
  return (header, columnCount) => {
    const mapping = given ?? recogniseHeader(header);
    if (!mapping) return eachAlone(header, columnCount);
    const { orientation, rate, acceleration } = mapping;
    const wanted = [
      ...(orientation?.kind === 'quaternion' ? [orientation] : []),
      ...[rate, acceleration].filter((source) => source && !source.where),
    ].map((source) =>
      source!.columns.map((reference) => columnIndex(header, columnCount, reference)),
    );
    return withOthers(wanted, columnCount);
  };
}
