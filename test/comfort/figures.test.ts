import { describe, expect, test } from 'vitest';
import { assess, type MotionFigures, motionFigures } from '../../src/comfort/figures.js';
import { motionSicknessWeight } from '../../src/comfort/frequencyWeighting.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { fc } from '../seed.js';
import { turn } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const RATE = 50;
const SECONDS = 80;
const N = RATE * SECONDS + 1;
/** Steps per second where the figure at the steps does not matter. */
const STEPS = 2;

type Axis = 'heading' | 'tilt' | 'roll';
const AXES: readonly Axis[] = ['heading', 'tilt', 'roll'];

const trackOf = (look: (t: number) => Quaternion): OrientationTrack => {
  const times = Float64Array.from({ length: N }, (_, k) => k / RATE);
  return createTrack({ times, quaternions: Float64Array.from([...times].flatMap(look)) });
};

/** A camera that turns about one of its axes by an angle, degrees, at every time. */
const turning = (axis: Axis, angle: (t: number) => number): OrientationTrack =>
  trackOf((t) => {
    const angles = { heading: 0, tilt: 0, roll: 0, [axis]: angle(t) * deg };
    return [...quaternionFromHeadingTiltRoll(angles.heading, angles.tilt, angles.roll)] as const;
  });

/** Whole periods in the clip, and the same at its ends: j/80 Hz. */
const hertz = (j: number) => j / SECONDS;
const sine = (amplitude: number, f: number) => (t: number) =>
  amplitude * Math.sin(2 * Math.PI * f * t);

/**
 * Peak rate of a sine, °/s, as the rotation from the sample before to the one after shows it:
 * (sin(x + ωh) − sin(x − ωh)) / 2h = ω cos x · sin(ωh)/ωh.
 */
const peakRate = (amplitude: number, f: number) =>
  amplitude * RATE * Math.sin((2 * Math.PI * f) / RATE);

/** Spectrum of a Hann window, 1 in the middle; `bins` counts in 1 over the window's length. */
function hannLobe(bins: number): number {
  if (bins === 0) return 1;
  if (Math.abs(bins) === 1) return 0.5;
  return Math.sin(Math.PI * bins) / (Math.PI * bins * (1 - bins * bins));
}

/** A window of so many seconds: its length with the two ends that are zero, and the bins' spacing. */
function windowOf(seconds: number): { length: number; spacing: number } {
  const samples = Math.round(seconds * RATE);
  return { length: (samples + 1) / RATE, spacing: RATE / 2 ** Math.ceil(Math.log2(samples)) };
}
const RATES_WINDOW = windowOf(40);
const BOB_WINDOW = windowOf(8);

/**
 * Share of a sine's power that bins of a spectrum show from one frequency up to before another, each
 * bin times a weight squared. The lobe squared has the integral 1.5 bins.
 */
function shownPower(
  f: number,
  [from, to]: readonly [number, number],
  weight: (frequency: number) => number = () => 1,
  { length, spacing } = RATES_WINDOW,
): number {
  let power = 0;
  for (let k = 1; k * spacing < to; k++) {
    if (k * spacing < from) continue;
    power += hannLobe((k * spacing - f) * length) ** 2 * weight(k * spacing) ** 2;
  }
  return (power * spacing * length) / 1.5;
}

/**
 * What the lobe alone leaves out, as a share of the sine's power: the sine's image at −f, 2fT bins
 * away, and the mean that is taken out before windowing, at most 1/(πfT) of the amplitude (2/(πfT) of
 * the half that stands at +f), fT bins away. The lobe's amplitude falls as 1/(π bins³); a product with
 * it counts twice in the power, and over all bins 2/1.5 times.
 */
function leftOut(f: number, { length } = RATES_WINDOW): number {
  const bins = f * length;
  const falling = (away: number) => 1 / (Math.PI * away ** 3);
  return (4 / 1.5) * (falling(2 * bins) + (2 / (Math.PI * bins)) * falling(bins));
}

const BANDS = { slow: [0.1, 0.5], steps: [0.5, 3], tremor: [3, 12] } as const;
type Band = keyof typeof BANDS;
const NAMES = Object.keys(BANDS) as Band[];

/** Frequencies at least 0.1 Hz, four bins of the spectrum, inside a band, and far from half the rate. */
const INSIDE: Readonly<Record<Band, fc.Arbitrary<number>>> = {
  slow: fc.integer({ min: 16, max: 32 }).map(hertz),
  steps: fc.integer({ min: 48, max: 232 }).map(hertz),
  tremor: fc.integer({ min: 248, max: 800 }).map(hertz),
};
const RUNS = { numRuns: 8 };

/** What rounding leaves of a root mean square: each of N sums may round by ε. */
const rounded = (size: number) => N * Number.EPSILON * size;

describe('a camera that swings about one axis', () => {
  const swings = fc.tuple(
    fc.constantFrom(...AXES),
    fc.constantFrom(...NAMES).chain((band) => fc.tuple(fc.constant(band), INSIDE[band])),
    fc.integer({ min: 1, max: 30 }).map((k) => k / 10),
  );

  test('turns at A 2πf/√2 (RMS) about that axis and not about the others', () => {
    fc.assert(
      fc.property(swings, ([axis, [, f], amplitude]) => {
        const { rateRmsDegPerS } = motionFigures(turning(axis, sine(amplitude, f)), STEPS);
        const peak = peakRate(amplitude, f);
        // Of N samples over whole periods one phase, the crest, is there twice.
        const expected = peak * Math.sqrt(((N - 1) / 2 + 1) / N);
        for (const each of AXES) {
          const rms = each === axis ? expected : 0;
          expect(Math.abs(rateRmsDegPerS[each] - rms)).toBeLessThan(rounded(peak));
        }
        // Differences over 2 h show a little less than the derivative: (ωh)²/6 of it.
        const omega = 2 * Math.PI * f;
        const ideal = (amplitude * omega) / Math.SQRT2;
        const loss = (omega / RATE) ** 2 / 6 + 1 / N;
        expect(Math.abs(rateRmsDegPerS[axis] / ideal - 1)).toBeLessThan(loss);
      }),
      RUNS,
    );
  });

  test('is slower than cos(0.025 π) of its peak rate for 95 % of the time', () => {
    // 161 periods in 4000 samples: no common divisor, so every phase comes once.
    const f = hertz(161);
    const { rate95DegPerS } = motionFigures(turning('tilt', sine(1, f)), STEPS);
    // |cos| is below cos y for the share 1 − 2y/π. Four ranks of N are 4 π/2N of the phase.
    const phase = 0.025 * Math.PI;
    const tolerance = (Math.sin(phase) * 4 * Math.PI) / (2 * N);
    expect(Math.abs(rate95DegPerS.tilt / peakRate(1, f) - Math.cos(phase))).toBeLessThan(tolerance);
    expect(rate95DegPerS.heading).toBe(0);
  });

  test('does so in the band of its frequency only', () => {
    fc.assert(
      fc.property(swings, ([axis, [band, f], amplitude]) => {
        const { bandRmsDegPerS } = motionFigures(turning(axis, sine(amplitude, f)), STEPS);
        const power = peakRate(amplitude, f) ** 2 / 2;
        for (const name of NAMES) {
          const shown = bandRmsDegPerS[name] ** 2 / power;
          expect(Math.abs(shown - shownPower(f, BANDS[name]))).toBeLessThan(leftOut(f));
          // Beyond four bins lie 2/(1.5 · 5π² · 4⁵) · (16/15)² = 3e-5 of the power, √ of it 0.6 %.
          if (name === band) expect(Math.sqrt(shown)).toBeGreaterThan(0.999);
          else expect(Math.sqrt(shown)).toBeLessThan(0.01 + Math.sqrt(leftOut(f)));
        }
      }),
      RUNS,
    );
  });

  test('shares its power between two bands at their common edge, and has jerk up to 12 Hz', () => {
    const edges = fc.tuple(fc.constantFrom(0.1, 0.5, 3, 12), fc.integer({ min: -3, max: 3 }));
    fc.assert(
      fc.property(edges, ([edge, steps]) => {
        const f = edge + steps / SECONDS;
        const figures = motionFigures(turning('tilt', sine(1, f)), STEPS);
        const power = peakRate(1, f) ** 2 / 2;
        for (const name of NAMES) {
          const shown = figures.bandRmsDegPerS[name] ** 2 / power;
          expect(Math.abs(shown - shownPower(f, BANDS[name]))).toBeLessThan(leftOut(f));
        }
        const jerk = figures.jerkRmsDegPerS3 ** 2 / (power * (2 * Math.PI * f) ** 4);
        const shown = shownPower(f, [0.1, 12], (g) => (g / f) ** 2);
        expect(Math.abs(jerk - shown)).toBeLessThan(leftOut(f));
      }),
      { numRuns: 16 },
    );
  });

  test('jerks by A (2πf)³/√2', () => {
    fc.assert(
      fc.property(swings, ([axis, [, f], amplitude]) => {
        const { jerkRmsDegPerS3 } = motionFigures(turning(axis, sine(amplitude, f)), STEPS);
        const omega = 2 * Math.PI * f;
        const power = (peakRate(amplitude, f) * omega ** 2) ** 2 / 2;
        const shown = shownPower(f, [0.1, 12], (g) => (g / f) ** 2);
        expect(Math.abs(jerkRmsDegPerS3 ** 2 / power - shown)).toBeLessThan(leftOut(f));
        // The lobe has the variance 1/3 of a bin squared, which f⁴ makes 2/(fT)² of the power.
        const ideal = (amplitude * omega ** 3) / Math.SQRT2;
        const tolerance = (omega / RATE) ** 2 / 6 + 1 / (f * RATES_WINDOW.length) ** 2;
        expect(Math.abs(jerkRmsDegPerS3 / ideal - 1)).toBeLessThan(tolerance);
      }),
      RUNS,
    );
  });

  test('counts for motion sickness by its weight times its rate', () => {
    // Above 0.6 Hz the weight falls faster than the window's lobe and its feet would decide.
    const even = fc.integer({ min: 6, max: 24 }).map((j) => hertz(2 * j));
    fc.assert(
      fc.property(fc.constantFrom(...AXES), even, (axis, f) => {
        const { weightedRmsDegPerS } = motionFigures(turning(axis, sine(2, f)), STEPS);
        const power = peakRate(2, f) ** 2 / 2;
        // A whole number of periods in every window: no mean is taken out. The weight is at most
        // 1.02 over the whole band, which bounds what the image adds.
        const tolerance = 1.04 * leftOut(f);
        const shown = shownPower(f, [0.02, 4], motionSicknessWeight);
        expect(Math.abs(weightedRmsDegPerS ** 2 / power - shown)).toBeLessThan(tolerance);
        // The spectrum resolves 1/T = 0.025 Hz: the weight is that of the neighbourhood.
        const near = [-1, -0.5, 0, 0.5, 1].map((bins) =>
          motionSicknessWeight(f + (2 * bins) / RATES_WINDOW.length),
        );
        const rms = weightedRmsDegPerS / Math.sqrt(power);
        expect(rms).toBeGreaterThan(Math.min(...near));
        expect(rms).toBeLessThan(Math.max(...near));
      }),
      RUNS,
    );
  });
});

describe('the bob of steps', () => {
  const paces = fc.integer({ min: 100, max: 212 }).map(hertz);
  const amplitudes = fc.integer({ min: 1, max: 30 }).map((k) => k / 10);

  test('is the amplitude of the nod at the pace', () => {
    fc.assert(
      fc.property(paces, amplitudes, (pace, amplitude) => {
        const { bobDeg } = motionFigures(turning('tilt', sine(amplitude, pace)), pace);
        // ±0.2 Hz are 1.6 bins of an 8 s window, just short of the lobe's foot.
        const band = [pace - 0.2 - 1e-9, pace + 0.2 + 1e-9] as const;
        const shown = shownPower(pace, band, undefined, BOB_WINDOW);
        const tolerance = leftOut(pace, BOB_WINDOW);
        expect(Math.abs((bobDeg / amplitude) ** 2 - shown)).toBeLessThan(tolerance);
        // At worst the band ends one place of the padded spectrum, 0.8 bins of the window, early on one
        // side: beyond 0.8 there and 1.6 on the other lie 8.7 % of the power, 4.5 % of the amplitude.
        expect(bobDeg).toBeGreaterThan(0.955 * amplitude);
        expect(bobDeg).toBeLessThan((1 + tolerance) * amplitude);
      }),
      // At these paces a place of the spectrum lies on the band's edge itself, which counts.
      {
        ...RUNS,
        examples: [
          [hertz(109), 1],
          [hertz(141), 1],
        ],
      },
    );
  });

  test('is none where the nod has another pace, or where the camera rolls or turns', () => {
    fc.assert(
      fc.property(paces, amplitudes, (pace, amplitude) => {
        const other = turning('tilt', sine(amplitude, pace + 0.8));
        // 0.6 Hz are 4.8 bins: 2/(1.5 · 5π² · 4.8⁵) of the power at most, √ of it 0.33 %.
        expect(motionFigures(other, pace).bobDeg).toBeLessThan(0.005 * amplitude);
        for (const axis of ['heading', 'roll'] as const) {
          const { bobDeg } = motionFigures(turning(axis, sine(amplitude, pace)), pace);
          expect(bobDeg).toBeLessThan(1e-12);
        }
      }),
      RUNS,
    );
  });
});

describe('a steady pan', () => {
  const speeds = fc.integer({ min: -900, max: 900 }).map((k) => k / 10 + 0.05);

  test('lies above 30 and 60 °/s all the time or never, and in no band', () => {
    fc.assert(
      fc.property(speeds, (speed) => {
        const figures = motionFigures(
          turning('heading', (t) => speed * t),
          STEPS,
        );
        expect(figures.shareAbove30).toBe(Math.abs(speed) > 30 ? 1 : 0);
        expect(figures.shareAbove60).toBe(Math.abs(speed) > 60 ? 1 : 0);
        // The angle grows to 80 s · speed and is rounded there, in degrees and in radians and in the
        // quaternion; the difference of two is divided by 2 samples.
        const angle = Math.abs(speed) * SECONDS + 360;
        const rounding = (8 * angle * Number.EPSILON * RATE) / 2;
        expect(Math.abs(figures.rateRmsDegPerS.heading - Math.abs(speed))).toBeLessThan(rounding);
        expect(Math.abs(figures.rate95DegPerS.heading - Math.abs(speed))).toBeLessThan(rounding);
        for (const name of NAMES) expect(figures.bandRmsDegPerS[name]).toBeLessThan(rounding);
        expect(figures.weightedRmsDegPerS).toBeLessThan(1.02 * rounding);
        expect(figures.jerkRmsDegPerS3).toBeLessThan((2 * Math.PI * 12) ** 2 * rounding);
        for (const none of [figures.bobDeg, figures.horizonRmsDeg])
          expect(none).toBeLessThan(1e-12);
      }),
      RUNS,
    );
  });

  test('of 30 s in a clip of 80 s counts for three eighths of it', () => {
    fc.assert(
      fc.property(fc.constantFrom(29, 45, 59, 61, 90), fc.constantFrom(1, -1), (speed, sign) => {
        const pan = turning('heading', (t) => sign * speed * Math.min(30, Math.max(0, t - 20)));
        const { shareAbove30, shareAbove60 } = motionFigures(pan, STEPS);
        // At both ends of the move a sample sees half the rate; the clip has one sample more than time.
        const close = (share: number, expected: number) =>
          expect(Math.abs(share - expected)).toBeLessThan(3 / N);
        close(shareAbove30, speed > 30 ? 3 / 8 : 0);
        close(shareAbove60, speed > 60 ? 3 / 8 : 0);
      }),
      RUNS,
    );
  });

  test('of a camera that looks up turns partly about the optical axis', () => {
    const [speed, up] = [20, 30 * deg];
    const looksUp = trackOf((t) => [...quaternionFromHeadingTiltRoll(speed * deg * t, up, 0)]);
    const { rateRmsDegPerS } = motionFigures(looksUp, STEPS);
    // The world's vertical has the part cos 30° along the camera's y axis and sin 30° along its z axis.
    expect(rateRmsDegPerS.heading).toBeCloseTo(speed * Math.cos(up), 9);
    expect(rateRmsDegPerS.roll).toBeCloseTo(speed * Math.sin(up), 9);
    expect(rateRmsDegPerS.tilt).toBeLessThan(1e-9);
  });

  test('counts as fast by its whole rate, though no axis alone is fast', () => {
    const oblique = trackOf((t) => turn([0, 0.6, 0.8], ((35 * t) % 360) * deg).q);
    const { shareAbove30, rateRmsDegPerS } = motionFigures(oblique, STEPS);
    expect(rateRmsDegPerS.heading).toBeCloseTo(21, 9);
    expect(rateRmsDegPerS.roll).toBeCloseTo(28, 9);
    expect(shareAbove30).toBe(1);
  });
});

describe('swings on top of each other', () => {
  const [slow, pace, shiver] = [hertz(24), hertz(160), hertz(480)];
  const parts: readonly (readonly [number, number])[] = [
    [3, slow],
    [0.6, pace],
    [0.1, shiver],
  ];
  const angle = (chosen: typeof parts) => (t: number) =>
    chosen.reduce((sum, [amplitude, f]) => sum + sine(amplitude, f)(t), 0);
  const all = motionFigures(turning('tilt', angle(parts)), pace);
  const alone = parts.map((part) => motionFigures(turning('tilt', angle([part])), pace));

  test('leave each band and the bob what they are alone', () => {
    NAMES.forEach((name, k) => {
      // Two lobes with a gap of 68 bins or more meet at 34 bins from each: 1/(π 34³) of either.
      const own = alone[k]!.bandRmsDegPerS[name];
      const others = Math.max(...alone.map(({ rateRmsDegPerS }) => rateRmsDegPerS.tilt));
      const feet = alone.reduce(
        (sum, each, i) => sum + (i === k ? 0 : each.bandRmsDegPerS[name]),
        0,
      );
      expect(Math.abs(all.bandRmsDegPerS[name] - own)).toBeLessThan(
        feet + others / (Math.PI * 34 ** 3),
      );
    });
    // The slow swing, five times the bob, is 1.5 Hz away at the band: 12 bins, 1/(π 12³) of it.
    expect(Math.abs(all.bobDeg - alone[1]!.bobDeg)).toBeLessThan(
      (2 * 5 * 0.6) / (Math.PI * 12 ** 3),
    );
  });

  test('add up in power', () => {
    const squares = (figure: (figures: MotionFigures) => number) =>
      Math.sqrt(alone.reduce((sum, each) => sum + figure(each) ** 2, 0));
    const rate = ({ rateRmsDegPerS }: MotionFigures) => rateRmsDegPerS.tilt;
    // Whole periods are orthogonal; only the crest that all share at both ends is there once more.
    expect(Math.abs(rate(all) / squares(rate) - 1)).toBeLessThan(3 / N);
    const jerk = ({ jerkRmsDegPerS3 }: MotionFigures) => jerkRmsDegPerS3;
    // The crossing of two lobes, 144 bins apart, weighs the jerk of the fast at the place of the slow.
    expect(Math.abs(jerk(all) / squares(jerk) - 1)).toBeLessThan(1 / (Math.PI * 72 ** 3) + 1e-6);
  });
});

describe('a camera that hangs to one side', () => {
  const leans = fc.integer({ min: -300, max: 300 }).map((k) => k / 10);

  test('has its horizon off by that, and moves not at all', () => {
    fc.assert(
      fc.property(leans, (lean) => {
        const figures = motionFigures(
          turning('roll', () => lean),
          STEPS,
        );
        expect(Math.abs(figures.horizonRmsDeg - Math.abs(lean))).toBeLessThan(rounded(30));
        expect(figures.rateRmsDegPerS).toEqual({ heading: 0, tilt: 0, roll: 0 });
        expect(figures.bandRmsDegPerS).toEqual({ slow: 0, steps: 0, tremor: 0 });
        expect(figures.jerkRmsDegPerS3).toBe(0);
      }),
      RUNS,
    );
  });

  test('and rocks: the two add up in power', () => {
    fc.assert(
      fc.property(leans, INSIDE.slow, (lean, f) => {
        const rocking = turning('roll', (t) => lean + sine(2, f)(t));
        const { horizonRmsDeg } = motionFigures(rocking, STEPS);
        // The last sample repeats the first, which the swing crosses at its middle: 1/N of 2²/2.
        const expected = Math.sqrt(lean * lean + (2 * (N - 1)) / N);
        expect(Math.abs(horizonRmsDeg - expected)).toBeLessThan(rounded(32));
      }),
      RUNS,
    );
  });
});

describe('what a correction takes', () => {
  test('is its largest and its root mean square angle, and shares of the frames', () => {
    const still = createTrack({
      times: Float64Array.of(0, 0.5, 1, 1.5),
      quaternions: Float64Array.from([0, 1, 2, 3].flatMap(() => [0, 0, 0, 1])),
    });
    const angles = [3, 0, 4, 12];
    const corrections = Float64Array.from(
      angles.flatMap((angle, k) => [...turn([0.6, 0.8, 0], angle * deg, k % 2 ? -1 : 1).q]),
    );
    const found = assess(still, still, corrections, STEPS, { limited: 3, bridged: 1 });
    expect(found.largestCorrectionDeg).toBeCloseTo(12, 12);
    expect(found.typicalCorrectionDeg).toBeCloseTo(13 / 2, 12);
    expect({ limited: found.limitedShare, bridged: found.bridgedShare }).toEqual({
      limited: 3 / 4,
      bridged: 1 / 4,
    });
  });
});
