/**
 * The stamps of a row of frames as an expression of ffmpeg's in the frame's number N, whatever they
 * are: straight stretches as such, chosen by a balanced tree of conditions, so that even stamps that
 * never repeat a step are found in log₂ n of them.
 *
 * @param stamps - whole numbers, ticks; length n ≥ 1
 * @returns such as `0+1001*(N-0)`
 * @see ffmpeg's documentation of the filter setpts and of expression evaluation
 */
export function stampExpression(stamps: readonly number[]): string {
  return between(stamps, straightStretches(stamps));
}

interface Stretch {
  readonly from: number;
  readonly step: number;
}

function straightStretches(stamps: readonly number[]): Stretch[] {
  const stretches: Stretch[] = [];
  let from = 0;
  while (from < stamps.length) {
    const step = (stamps[from + 1] ?? stamps[from]!) - stamps[from]!;
    let to = from + 1;
    while (to < stamps.length && stamps[to]! - stamps[to - 1]! === step) to++;
    stretches.push({ from, step });
    from = to;
  }
  return stretches;
}

function between(stamps: readonly number[], stretches: readonly Stretch[]): string {
  if (stretches.length === 1) {
    const { from, step } = stretches[0]!;
    return `${stamps[from]}+${step}*(N-${from})`;
  }
  const middle = stretches.length >> 1;
  const [low, high] = [stretches.slice(0, middle), stretches.slice(middle)];
  return `if(lt(N,${high[0]!.from}),${between(stamps, low)},${between(stamps, high)})`;
}
