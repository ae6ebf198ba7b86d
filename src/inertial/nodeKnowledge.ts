import type { LogQuality } from './logQuality.js';
import type { Span } from './spans.js';

/** What the log says at the nodes besides its samples; length K + 1 each. */
export interface NodeKnowledge {
  /** Standard deviation of the zero velocity, m/s. */
  readonly velocityDeviation: Float64Array;
  /** Whether the camera rests on something still, so that its mean rate is the gyro's bias. */
  readonly resting: Uint8Array;
  /** Further attitude variance gathered since the node before (holes, clipped rates), rad². */
  readonly lostAttitude: Float64Array;
  /** Further velocity variance gathered since the node before (holes, clipped values), m²/s². */
  readonly lostVelocity: Float64Array;
  /** Whether the samples before say nothing of what comes: level anew by the force that follows. */
  readonly restart: Uint8Array;
}

/** Distance of the smoother's nodes, seconds: short against the sway that levelling must follow. */
const NODE_SPACING = 0.05;

/** How fast a camera may turn unseen while samples are missing, rad/s (our judgement). */
const UNSEEN_RATE = 0.5;
/** How long it may turn one way at that rate, s. */
const UNSEEN_TIME = 1;
/** How wrong a clipped rate may be, rad/s (our judgement). */
const CLIPPED_RATE = 1;
/** How large a force may be that is missing or cut off, m/s² (our judgement). */
const UNSEEN_ACCELERATION = 4;
/** How much less a shaken force is trusted. */
const DISTRUST = 10;
/** After a hole of both sensors of this length, s, the camera is levelled anew. */
const RESTART = 1;

/** Sample indices some {@link NODE_SPACING} apart; the first, the last and the ends of holes included. */
export function chooseNodes(
  times: Float64Array,
  { gaps, filledRate, filledForce }: Pick<LogQuality, 'gaps' | 'filledRate' | 'filledForce'>,
): Int32Array {
  const ends = [...gaps, ...filledRate, ...filledForce]
    .flatMap(({ from, to }) => [from, to])
    .sort((a, b) => a - b);
  ends.push(Number.POSITIVE_INFINITY);
  const nodes = [0];
  let due = NODE_SPACING;
  let end = 0;
  const last = times.length - 1;
  while (ends[end]! <= times[0]!) end++;
  for (let k = firstFrom(times, 1, due, ends[end]!); k < last; ) {
    const time = times[k]!;
    nodes.push(k);
    // The end of a hole is a node more, and puts off the next only where that would come too soon.
    if (time > due - 1e-9) due += NODE_SPACING;
    due = Math.max(due, time + 0.5 * NODE_SPACING);
    while (ends[end]! <= time) end++;
    k = firstFrom(times, k + 1, due, ends[end]!);
  }
  if (last > 0) nodes.push(last);
  return Int32Array.from(nodes);
}

/** The first sample from one on at which a node is due, or a hole ends. */
function firstFrom(times: Float64Array, from: number, due: number, end: number): number {
  const next = Math.min(due - 1e-9, end);
  let k = from;
  while (k < times.length && times[k]! < next) k++;
  return k;
}

/** What the log's quality means at the nodes; velocityDeviation holds factors of distrust. */
export function knowledgeOfNodes(
  times: Float64Array,
  nodes: Int32Array,
  quality: LogQuality,
): NodeKnowledge {
  const count = nodes.length;
  const knowledge: NodeKnowledge = {
    velocityDeviation: new Float64Array(count).fill(1),
    resting: new Uint8Array(count),
    lostAttitude: new Float64Array(count),
    lostVelocity: new Float64Array(count),
    restart: new Uint8Array(count),
  };
  const { velocityDeviation, resting, lostAttitude, lostVelocity, restart } = knowledge;
  const during = (spans: readonly Span[], each: (k: number, overlap: number, span: Span) => void) =>
    nodesDuring(times, nodes, spans, each);
  for (const spans of [quality.gaps, quality.filledRate]) {
    during(spans, (k, overlap, { from, to }) => {
      lostAttitude[k]! += UNSEEN_RATE ** 2 * overlap * Math.min(to - from, UNSEEN_TIME);
    });
  }
  during(quality.clippedRate, (k, overlap) => {
    lostAttitude[k]! += (CLIPPED_RATE * overlap) ** 2;
  });
  for (const spans of [quality.gaps, quality.filledForce, quality.clippedForce]) {
    during(spans, (k, overlap, { from, to }) => {
      lostVelocity[k]! += UNSEEN_ACCELERATION ** 2 * overlap * Math.min(to - from, UNSEEN_TIME);
    });
  }
  during(quality.vibration, (k) => {
    velocityDeviation[k] = DISTRUST;
  });
  during(quality.rests, (k, overlap) => {
    // Only whole intervals at rest tell the bias.
    const length = times[nodes[k]!]! - times[nodes[k - 1]!]!;
    if (overlap >= length * 0.999) resting[k] = 1;
  });
  during(holesOfBoth(quality), (k, _overlap, { from, to }) => {
    if (to - from > RESTART && times[nodes[k]!]! === to) restart[k] = 1;
  });
  return knowledge;
}

/** Calls `each` for every node whose interval from the node before overlaps a span. */
export function nodesDuring(
  times: Float64Array,
  nodes: Int32Array,
  spans: readonly Span[],
  each: (node: number, overlap: number, span: Span) => void,
): void {
  const count = nodes.length;
  let k = 1;
  for (const span of spans) {
    while (k > 1 && times[nodes[k - 1]!]! > span.from) k--;
    for (; k < count && times[nodes[k - 1]!]! <= span.to; k++) {
      const start = Math.max(span.from, times[nodes[k - 1]!]!);
      const end = Math.min(span.to, times[nodes[k]!]!);
      if (end >= start) each(k, end - start, span);
    }
    k = Math.min(k, count - 1);
  }
}

/** Where neither sensor says anything: missing rows, and rows in which both were filled in. */
function holesOfBoth({ gaps, filledRate, filledForce }: LogQuality): Span[] {
  const both = filledRate.flatMap((a) =>
    filledForce
      .map((b) => ({ from: Math.max(a.from, b.from), to: Math.min(a.to, b.to) }))
      .filter(({ from, to }) => to > from),
  );
  return [...gaps, ...both].sort((a, b) => a.from - b.from);
}
