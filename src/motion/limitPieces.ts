/** Samples that are solved together, and where their solution comes and goes. */
export interface LimitPiece {
  readonly from: number;
  readonly to: number;
  /** Where it fades in over what was there before; it starts in full without. */
  readonly fadeIn?: Span;
  /** Where it fades out again. */
  readonly fadeOut?: Span;
}

interface Span {
  readonly from: number;
  readonly to: number;
}

/** Seconds, and shortest moves, kept free around what lies beyond a limit, for the path to swing out and back. */
const MARGIN = { seconds: 3, moves: 2 };
/** A sample is close to a bound from this share of the way on (our judgement). */
const CLOSE = 0.9;
/**
 * Stretches are cut into pieces of about so many seconds, at least so many margins, which overlap by one: a
 * search over little takes fewer steps and little memory, and the cost of the path is within 2e-5 of that
 * of the whole stretch (measured over an hour of quarter turns).
 */
const PIECE = { seconds: 60, margins: 8 };

/**
 * Pieces that hold every sample close to a bound and a margin around it, without those in which nothing
 * lies beyond a bound: there the wanted corrections are the calmest.
 *
 * @param fractions - how far each sample is on its way to a bound: beyond it above 1
 * @param sampleRate - Hz
 * @param shortestMove - s
 */
export function piecesNearBounds(
  fractions: Float64Array,
  sampleRate: number,
  shortestMove: number,
): LimitPiece[] {
  const n = fractions.length;
  const margin = Math.round(Math.max(MARGIN.seconds, MARGIN.moves * shortestMove) * sampleRate);
  const longest = Math.max(PIECE.seconds * sampleRate, PIECE.margins * margin);
  const half = Math.round(margin / 2);
  const quarter = Math.round(margin / 4);
  return stretchesNearBounds(fractions, margin).flatMap(({ from, to }) => {
    const count = Math.max(1, Math.round((to - from) / longest));
    const cut = (i: number) => from + Math.round((i * (to - from)) / count);
    return Array.from({ length: count }, (_, i): LimitPiece => {
      const [first, last] = [i === 0, i === count - 1];
      const begin = first ? from : cut(i) - half;
      const end = last ? to : cut(i + 1) + half;
      return {
        ...{ from: begin, to: end },
        // In the outer half of a margin the path glides from what is wanted and back to it, and in the
        // middle half of an overlap to the next piece: near its ends a solution knows too little.
        ...(!first && { fadeIn: { from: begin + quarter, to: begin + quarter + half } }),
        ...(first && from > 0 && { fadeIn: { from, to: from + half } }),
        ...(last && to < n && { fadeOut: { from: to - half, to } }),
      };
    });
  });
}

function stretchesNearBounds(fractions: Float64Array, margin: number): Span[] {
  const n = fractions.length;
  const stretches: { from: number; to: number; beyond: boolean }[] = [];
  for (let k = 0; k < n; k++) {
    const fraction = fractions[k]!;
    if (!(fraction > CLOSE)) continue;
    const from = Math.max(0, k - margin);
    const to = Math.min(n, k + margin + 1);
    let last = stretches[stretches.length - 1];
    if (last && from <= last.to) last.to = to;
    else {
      last = { from, to, beyond: false };
      stretches.push(last);
    }
    last.beyond ||= fraction > 1;
  }
  return stretches.filter(({ beyond }) => beyond);
}

/**
 * Puts the solution of a piece where it belongs. Where it fades, what was there before and what is new keep
 * every bound, and bounds are convex, so what lies between does too.
 *
 * @param out - three numbers a sample, of the whole
 * @param solution - of the piece
 */
export function takeOver(
  out: Float64Array,
  solution: Float64Array,
  { from, to, fadeIn, fadeOut }: LimitPiece,
): void {
  for (let k = from; k < to; k++) {
    const share = Math.min(
      fadeIn ? risen((k - fadeIn.from) / (fadeIn.to - fadeIn.from)) : 1,
      fadeOut ? risen((fadeOut.to - 1 - k) / (fadeOut.to - fadeOut.from)) : 1,
    );
    for (let i = 3 * k; i < 3 * k + 3; i++) out[i]! += share * (solution[i - 3 * from]! - out[i]!);
  }
}

/** 0 up to 0, 1 from 1 on, and twice smooth between. */
function risen(u: number): number {
  const v = Math.min(1, Math.max(0, u));
  return v * v * v * (10 - 15 * v + 6 * v * v);
}
