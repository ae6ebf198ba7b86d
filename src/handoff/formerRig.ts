/** The three entries that say what `eyes` says now. */
interface FormerRig {
  readonly alignment?: unknown;
  readonly leftReadout?: unknown;
  readonly rightReadout?: unknown;
}

/**
 * The rig of a result file in the words of this release: files of earlier releases hold `alignment`, `leftReadout`
 * and `rightReadout` where `eyes` stands now. Values pass as they are, wrong ones too, for the reader of rigs to
 * refuse.
 *
 * @param rig - what stands under "rig"
 * @returns a rig with `eyes`, or what was given where no former entry stands there, or one beside `eyes`
 * @example
 * withEyes({ leftReadout: { startMs: 2 } }); // { eyes: { left: { readout: { startMs: 2 } }, right: {} } }
 */
export function withEyes(rig: unknown): unknown {
  if (!isObject(rig) || 'eyes' in rig) return rig;
  const { alignment, leftReadout, rightReadout, ...others } = rig as FormerRig;
  if (alignment === undefined && leftReadout === undefined && rightReadout === undefined)
    return rig;
  if (alignment !== undefined && !isObject(alignment)) return rig;
  // A side that is no eye is handed on too, to be refused: nothing may vanish.
  const eyes: Record<string, object> = Object.fromEntries(
    Object.entries(alignment ?? {}).map(([side, own]) => [side, { alignment: own }]),
  );
  return {
    ...others,
    eyes: {
      ...eyes,
      left: { ...eyes.left, ...(leftReadout !== undefined && { readout: leftReadout }) },
      right: { ...eyes.right, ...(rightReadout !== undefined && { readout: rightReadout }) },
    },
  };
}

function isObject(value: unknown): value is object {
  return value !== null && typeof value === 'object' && !Array.isArray(value);
}
