/**
 * Seeded random numbers for benchmarks that must give the same walks on every machine, every time.
 */
export interface Random {
  /** A number drawn evenly from [low, high). */
  uniform(low: number, high: number): number;
  /**
   * A positive number whose logarithm is drawn evenly: as often between 1 and 2 as between 2 and 4.
   */
  logUniform(low: number, high: number): number;
  /** A whole number from low to high, both included. */
  integer(low: number, high: number): number;
  /** A normal deviate of mean 0 and variance 1. */
  normal(): number;
  /** True with the given probability. */
  chance(probability: number): boolean;
  /** −1 or +1, equally likely. */
  sign(): number;
}

/**
 * Opens the random stream that belongs to a label.
 *
 * Streams of different labels are independent of each other. A generator that opens one stream per
 * purpose ("heading 7 sway", "heading 7 tremor") can therefore change how much one purpose draws
 * and leave the others as they were.
 *
 * @param label - any text; equal labels give equal streams
 */
export function seededRandom(label: string): Random {
  const nextUint32 = smallFastCounter(hashWords(label));
  // 53 random bits fill the mantissa of a double.
  const unit = () => ((nextUint32() >>> 5) * 2 ** 26 + (nextUint32() >>> 6)) * 2 ** -53;
  const uniform = (low: number, high: number) => low + (high - low) * unit();
  return {
    uniform,
    logUniform: (low, high) => Math.exp(uniform(Math.log(low), Math.log(high))),
    integer: (low, high) => low + Math.floor(unit() * (high - low + 1)),
    normal: polarNormal(unit),
    chance: (probability) => unit() < probability,
    sign: () => (unit() < 0.5 ? -1 : 1),
  };
}

/**
 * Normal deviates by the polar method, which yields two at a time: the second one waits for the
 * next call.
 *
 * @see Marsaglia and Bray, 1964, A convenient method for generating normal variables
 */
function polarNormal(unit: () => number): () => number {
  let spare: number | undefined;
  return () => {
    if (spare !== undefined) {
      const deviate = spare;
      spare = undefined;
      return deviate;
    }
    for (;;) {
      const x = 2 * unit() - 1;
      const y = 2 * unit() - 1;
      const squaredRadius = x * x + y * y;
      if (squaredRadius > 0 && squaredRadius < 1) {
        const scale = Math.sqrt((-2 * Math.log(squaredRadius)) / squaredRadius);
        spare = y * scale;
        return x * scale;
      }
    }
  };
}

type FourWords = readonly [number, number, number, number];

/** Doty-Humphrey's sfc32: three mixed words and a counter that rules out short cycles. */
function smallFastCounter([first, second, third, start]: FourWords): () => number {
  let a = first;
  let b = second;
  let c = third;
  let counter = start;
  const next = () => {
    const output = (a + b + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (((c << 21) | (c >>> 11)) + output) | 0;
    return output >>> 0;
  };
  // Labels that differ in one letter start from close states; some rounds drive them apart.
  for (let round = 0; round < 16; round++) next();
  return next;
}

/**
 * Four unlike 32-bit hashes of a text: one FNV-1a pass each from its own offset, then an avalanche
 * step.
 */
function hashWords(text: string): FourWords {
  const hash = (offset: number) => {
    let word = offset;
    for (let i = 0; i < text.length; i++) word = Math.imul(word ^ text.charCodeAt(i), 0x01000193);
    return avalanche(word);
  };
  return [hash(0x811c9dc5), hash(0x2545f491), hash(0x9e3779b9), hash(0x6a09e667)];
}

/** Lets every input bit reach every output bit (the closing step of MurmurHash3). */
function avalanche(word: number): number {
  let mixed = Math.imul(word ^ (word >>> 16), 0x85ebca6b);
  mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
  return mixed ^ (mixed >>> 16);
}
