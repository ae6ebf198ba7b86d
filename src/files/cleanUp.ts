/**
 * Runs steps that take away what is no longer wanted, each whatever became of the others, and once
 * more where it fails. What goes wrong here is never said: the error that made it necessary is the one
 * to hear of.
 *
 * @param steps - of taking away, in order; each may be run again after it failed
 * @returns whether all of them succeeded
 */
export function cleanUp(...steps: readonly (() => void)[]): boolean {
  return steps.map((step) => succeeds(step) || succeeds(step)).every((success) => success);
}

function succeeds(step: () => void): boolean {
  try {
    step();
    return true;
  } catch {
    return false;
  }
}
