import { describe, expect, test } from 'vitest';
import { trackOf } from '../../bench/accuracy/evaluate.js';
import { makeWalk } from '../../bench/accuracy/walks.js';
import type { MomentaryFigure } from '../../src/comfort/moments.js';
import { cutIntoStretches, type Stretch } from '../../src/comfort/stretches.js';
import { correct } from '../../src/correct.js';
import { composeQuaternions } from '../../src/rotation/arrays.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { fc } from '../seed.js';

const DEGREE = Math.PI / 180;
const RANK = { usable: 0, 'with care': 1, 'not usable': 2 };
const TIMES = Float64Array.from({ length: 300 }, (_, k) => k / 30);

const figureOf = (values: Float64Array, cause: MomentaryFigure['cause'] = 'operator') => ({
  figure: 'shake',
  unit: '°/s',
  care: 3,
  bad: 10,
  source: 'a test',
  cause,
  values,
});

function cut(values: Float64Array, held = 0): Stretch[] {
  return cutIntoStretches({
    times: TIMES,
    figures: [figureOf(values)],
    heldBackDeg: new Float64Array(300).fill(held),
    levelled: true,
  });
}

/** Verdict at each frame, as a rank. */
function ranks(stretches: readonly Stretch[]): number[] {
  return stretches.flatMap(({ fromFrame, toFrame, verdict }) =>
    new Array(toFrame - fromFrame + 1).fill(RANK[verdict]),
  );
}

const noise = fc.array(fc.double({ min: 0, max: 15, noNaN: true }), {
  minLength: 300,
  maxLength: 300,
});

test('stretches cover the take without gap or overlap, each different from the next', () => {
  fc.assert(
    fc.property(noise, (values) => {
      const stretches = cut(Float64Array.from(values));
      expect(ranks(stretches)).toHaveLength(300);
      stretches.forEach((stretch, i) => {
        const next = stretches[i + 1];
        expect(next?.fromFrame ?? 300).toBe(stretch.toFrame + 1);
        expect(next?.verdict).not.toBe(stretch.verdict);
        expect(next?.fromSeconds ?? 10).toBeCloseTo(stretch.toSeconds, 9);
      });
    }),
  );
});

test('making any moment worse makes no frame better', () => {
  fc.assert(
    fc.property(noise, noise, (values, more) => {
      const before = ranks(cut(Float64Array.from(values)));
      const after = ranks(cut(Float64Array.from(values, (value, k) => value + more[k]!)));
      after.forEach((rank, k) => {
        expect(rank).toBeGreaterThanOrEqual(before[k]!);
      });
    }),
  );
});

test('a figure that hovers at its threshold does not flicker', () => {
  const hovering = Float64Array.from({ length: 300 }, (_, k) => 3 + 0.3 * Math.sin(k));
  expect(cut(hovering)).toHaveLength(1);
});

test('what the settings hold back is their doing', () => {
  const shaky = new Float64Array(300).fill(5);
  expect(cut(shaky, 0)[0]!.because!.cause).toBe('operator');
  expect(cut(shaky, 2)[0]!.because!.cause).toBe('settings');
});

describe('a walk through the greenhouse with one thing planted', () => {
  const walk = trackOf(makeWalk('heading', 8, { duration: 30 }));
  const rate = (walk.times.length - 1) / walk.times[walk.times.length - 1]!;

  function spoilt(from: number, to: number, angleAt: (share: number) => number): OrientationTrack {
    const quaternions = walk.quaternions.slice();
    for (let k = Math.round(from * rate); k < to * rate; k++) {
      const angle = angleAt((k / rate - from) / (to - from)) * DEGREE;
      const turn = quaternionFromRotationVector([angle, 0, 0]);
      quaternions.set(composeQuaternions(quaternions.slice(4 * k, 4 * k + 4), turn), 4 * k);
    }
    return createTrack({ times: walk.times, quaternions });
  }

  const at = (stretches: readonly Stretch[], second: number) =>
    stretches.find(({ fromSeconds, toSeconds }) => fromSeconds <= second && second < toSeconds)!;

  test('as it is, all of it is usable', () => {
    expect(correct(walk).stretches.map(({ verdict }) => verdict)).toEqual(['usable']);
  });

  test('a limit of a degree leaves shake, and the settings are blamed', () => {
    const { stretches } = correct(walk, { limits: { totalDeg: 1 } });
    const bad = stretches.filter(({ verdict }) => verdict !== 'usable');
    expect(bad.length).toBeGreaterThan(0);
    for (const { because } of bad) expect(because!.cause).toBe('settings');
  });

  test('a tracker that freezes for half a second is blamed for that, and for nothing else', () => {
    const quaternions = walk.quaternions.slice();
    const first = Math.round(12 * rate);
    for (let j = 1; j <= 30; j++) {
      quaternions.set(quaternions.slice(4 * first, 4 * first + 4), 4 * (first + j));
    }
    const { stretches } = correct(createTrack({ times: walk.times, quaternions }));
    expect(at(stretches, 12.25)).toMatchObject({
      verdict: 'with care',
      because: { cause: 'tracker' },
    });
    expect(at(stretches, 5).verdict).toBe('usable');
    expect(at(stretches, 20).verdict).toBe('usable');
  });

  test('half levelling of a leaning camera is the settings’ doing', () => {
    const leaning = createTrack({
      times: walk.times,
      quaternions: composeQuaternions(
        walk.quaternions,
        quaternionFromRotationVector([0, 0, 20 * DEGREE]),
      ),
    });
    expect(at(correct(leaning, { level: 0.2 }).stretches, 10).because!.cause).toBe('settings');
    expect(at(correct(leaning).stretches, 10).verdict).toBe('usable');
  });

  test('two wild frames do not condemn a good take', () => {
    const wild = spoilt(10, 10 + 1.5 / rate, () => 40);
    expect(correct(wild).stretches.every(({ verdict }) => verdict !== 'not usable')).toBe(true);
  });
});
