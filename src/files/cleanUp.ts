/**
 * Runs steps that take away what is no longer wanted, each whatever became of the others. What goes
 * wrong here is never said: the error that made it necessary is the one to hear of.
 *
 * @param steps - of taking away, in order
 * @returns whether all of them succeeded
 */
export function cleanUp(...steps: readonly (() => void)[]): boolean {
  let clean = true;
  for (const step of steps) {
    try {
      step();
    } catch {
      clean = false;
    }
  }
  return clean;
}
