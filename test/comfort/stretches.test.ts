import { describe, expect, test } from 'vitest';
import { trackOf } from '../../bench/accuracy/evaluate.js';
import { makeWalk } from '../../bench/accuracy/walks.js';
import type { MomentaryFigure } from '../../src/comfort/moments.js';
import { cutIntoStretches, type Stretch, withTimecodes } from '../../src/comfort/stretches.js';
import { shareOfTime } from '../../src/comfort/verdict.js';
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
  nextTime: 'tread more softly',
  cause,
  values,
});

function cut(values: Float64Array, times = TIMES): Stretch[] {
  return cutIntoStretches({ times, figures: [figureOf(values)] });
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
  const other = { ...figureOf(new Float64Array(300)), figure: 'horizon', unit: '°' };
  fc.assert(
    fc.property(noise, noise, (values, more) => {
      const figures = [
        figureOf(Float64Array.from(values)),
        { ...other, values: Float64Array.from(more) },
      ];
      const stretches = cutIntoStretches({ times: TIMES, figures });
      expect(ranks(stretches)).toHaveLength(300);
      stretches.forEach((stretch, i) => {
        const next = stretches[i + 1];
        expect(next?.fromFrame ?? 300).toBe(stretch.toFrame + 1);
        expect([next?.verdict, next?.because?.figure]).not.toEqual([
          stretch.verdict,
          stretch.because?.figure,
        ]);
        expect(next?.fromSeconds ?? 10).toBeCloseTo(stretch.toSeconds, 9);
      });
    }),
  );
});

test('a frame of a clip cut in two is never worse than in the whole, and the whole no better than its better half', () => {
  fc.assert(
    fc.property(noise, fc.integer({ min: 1, max: 299 }), (values, at) => {
      const part = (from: number, to: number) =>
        cut(Float64Array.from(values.slice(from, to)), TIMES.slice(0, to - from));
      const [whole, first, second] = [cut(Float64Array.from(values)), part(0, at), part(at, 300)];
      const whole300 = ranks(whole);
      [...ranks(first), ...ranks(second)].forEach((rank, k) => {
        expect(rank).toBeLessThanOrEqual(whole300[k]!);
      });
      const bad = (stretches: readonly Stretch[]) => shareOfTime(stretches, 'not usable');
      expect(bad(whole)).toBeGreaterThanOrEqual(Math.min(bad(first), bad(second)) - 1e-12);
    }),
  );
});

test('a stretch longer than a moment has its own reason, a shorter one that of what is around it', () => {
  const shake = Float64Array.from({ length: 300 }, (_, k) => (k >= 100 && k < 160 ? 9 : 4));
  const level = (length: number) => ({
    ...figureOf(
      Float64Array.from({ length: 300 }, (_, k) => (k >= 200 && k < 200 + length ? 9 : 0)),
    ),
    figure: 'horizon',
  });
  const reasons = (length: number) =>
    cutIntoStretches({ times: TIMES, figures: [figureOf(shake), level(length)] }).map(
      ({ because }) => because!.figure,
    );
  expect(reasons(45)).toEqual(['shake', 'horizon', 'shake']);
  expect(reasons(20)).toEqual(['shake']);
});

test('what the rig makes of it hides nothing that the operator did', () => {
  const everywhere = { ...figureOf(new Float64Array(300).fill(9.9)), cause: 'rig' as const };
  const stumble = Float64Array.from({ length: 300 }, (_, k) => (k >= 100 && k < 150 ? 4 : 0));
  const figures = [{ ...everywhere, figure: 'disparity' }, figureOf(stumble)];
  const stretches = cutIntoStretches({ times: TIMES, figures });
  expect(stretches.map(({ because }) => because!.figure)).toEqual([
    'disparity',
    'shake',
    'disparity',
  ]);
});

test('time codes are those of the first frame of each and of the one after its last', () => {
  const stretches = cut(Float64Array.from({ length: 300 }, (_, k) => (k < 150 ? 0 : 5)));
  const rate = { numerator: 30000, denominator: 1001 };
  expect(
    withTimecodes(stretches, '00:00:57;00', rate).map((each) => [
      each.fromTimecode,
      each.toTimecode,
    ]),
    // 90 frames to the minute, where labels :00 and :01 are left out (SMPTE ST 12-1).
  ).toEqual([
    ['00:00:57;00', '00:01:02;02'],
    ['00:01:02;02', '00:01:07;02'],
  ]);
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
    const { because } = at(correct(leaning, { level: 0.2 }).stretches, 10);
    expect(because).toMatchObject({ cause: 'settings', figure: 'horizon off level' });
    expect(because!.now).toMatch(
      /^levelling in full \(--level 1\) brings it from 1\d to 0[.\d]*°$/,
    );
  });

  test('two wild frames do not condemn a good take', () => {
    const wild = spoilt(10, 10 + 1.5 / rate, () => 40);
    expect(correct(wild).stretches.every(({ verdict }) => verdict !== 'not usable')).toBe(true);
  });
});
