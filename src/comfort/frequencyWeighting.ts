/**
 * Gain of the frequency weighting W_f for motion sickness at a frequency: a band limit (high-pass at
 * 0.08 Hz, low-pass at 0.63 Hz, both Butterworth of order 2), an acceleration–velocity transition
 * and an upward step. Its peak, 1.014, lies at 0.174 Hz; walking bob (2 Hz) is weighted 0.0016.
 *
 * The standard defines it for vertical acceleration of a real body. Weighing what a viewer sees with
 * it is a stand-in for lack of a standard: read differences, not levels.
 *
 * @param frequency - Hz, above 0
 * @returns gain, 0 to 1.014, without unit
 * @see ISO 2631-1:1997, Annex A, parameters of W_f; the values of Table 3 follow to the last digit
 *   printed (test/comfort/frequencyWeighting.test.ts)
 * @example
 * motionSicknessWeight(0.174); // 1.014
 * motionSicknessWeight(2); // 0.0016, the pace of steps
 */
export function motionSicknessWeight(frequency: number): number {
  const [f1, f2] = [0.08, 0.63];
  const [f4, q4] = [0.25, 0.86];
  const [f5, q5] = [0.0625, 0.8];
  const [f6, q6] = [0.1, 0.8];
  const highPass = 1 / magnitude(-((f1 / frequency) ** 2), -Math.SQRT2 * (f1 / frequency));
  const lowPass = 1 / magnitude(-((frequency / f2) ** 2), Math.SQRT2 * (frequency / f2));
  const transition = 1 / magnitude(-((frequency / f4) ** 2), frequency / (q4 * f4));
  const step =
    (magnitude(-((frequency / f5) ** 2), frequency / (q5 * f5)) /
      magnitude(-((frequency / f6) ** 2), frequency / (q6 * f6))) *
    (f5 / f6) ** 2;
  return highPass * lowPass * transition * step;
}

/** |1 + a + ib|: every factor of the weighting is one plus a square and a linear term of i f. */
function magnitude(square: number, linear: number): number {
  return Math.hypot(1 + square, linear);
}
