import { describe, expect, test } from 'vitest';
import { errorsOf, pooled, trackOf } from '../../bench/accuracy/evaluate.js';
import {
  makeWalk,
  type SyntheticWalk,
  WALK_KINDS,
  type WalkKind,
  type WalkOverrides,
} from '../../bench/accuracy/walks.js';
import { RADIANS_PER_DEGREE, wrapAngle } from '../../src/math.js';
import { limitPath } from '../../src/motion/limit.js';
import {
  type FilterName,
  type SeparateOptions,
  type Separation,
  separate,
} from '../../src/motion/separate.js';
import {
  angularDistances,
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
} from '../../src/rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../../src/rotation/headingTiltRoll.js';
import { quaternionFromAxisAngle } from '../../src/rotation/quaternion.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { complaint } from '../complaint.js';

const deg = RADIANS_PER_DEGREE;
const SEEDS = [41, 42, 43];

const rms = (values: ArrayLike<number>) =>
  Math.sqrt(Array.from(values).reduce((sum, x) => sum + x * x, 0) / values.length) / deg;
const codes = ({ warnings }: Separation) => warnings.map(({ code }) => code);
const anglesOf = (quaternions: Float64Array) =>
  Array.from({ length: quaternions.length / 4 }, (_, k) =>
    headingTiltRollFromQuaternion(quaternionAt(quaternions, k)),
  );

/** Root mean square angle of a path to what was meant, within a stretch, degrees. */
function error(walk: SyntheticWalk, path: Float64Array, from = 0, to = 1e9): number {
  const distances = angularDistances(path, walk.intendedWithDrift);
  return rms(distances.filter((_, k) => walk.times[k]! >= from && walk.times[k]! <= to));
}

const separated = new Map<string, { walk: SyntheticWalk; separation: Separation }>();
/** A walk and its separation, computed once. */
function example(kind: WalkKind, seed: number, overrides: WalkOverrides = {}) {
  const name = JSON.stringify([kind, seed, overrides]);
  const known = separated.get(name);
  if (known) return known;
  const walk = makeWalk(kind, seed, { frameRate: 30, ...overrides });
  const fresh = { walk, separation: separate(trackOf(walk)) };
  separated.set(name, fresh);
  return fresh;
}

/** Whether the separation of some clips, taken together, is nearer to what was meant than the camera was. */
function expectGain(examples: readonly ReturnType<typeof example>[], share = 1): void {
  for (const roll of ['levelled', 'kept'] as const) {
    const found = examples.map(
      ({ walk, separation }) => errorsOf(walk, separation.intended.quaternions)[roll],
    );
    const raw = examples.map(({ walk }) => errorsOf(walk, walk.measured)[roll]);
    expect(pooled(found)).toBeLessThan(share * pooled(raw));
  }
}

describe.each(WALK_KINDS)('on clips of kind %s', (kind) => {
  const examples = () => SEEDS.map((seed) => example(kind, seed));

  test('the intended path is nearer to what was meant than the camera was', () => {
    expectGain(examples());
  });

  // Nothing in the rotation of hands that shake broadly says whether the feet walk.
  if (kind === 'handheld') return;

  test('the shot is named rightly, with confidence between 0 and 1', () => {
    for (const { walk, separation } of examples()) {
      const travels = walk.walking || kind === 'scurve' || kind.startsWith('roam');
      const turns = kind === 'panhold' || kind === 'tilt';
      expect(separation.shot).toBe(travels ? 'travelling' : turns ? 'pan' : 'locked-off');
      expect(separation.confidence).toBeGreaterThan(0);
      expect(separation.confidence).toBeLessThanOrEqual(1);
    }
  });

  test('steps are heard where there are any, at their pace', () => {
    for (const { walk, separation } of examples()) {
      const { walking, stepFrequency } = separation.gait;
      expect(walking).toBe(walk.walking);
      if (kind === 'walkstop' || kind === 'walkstart' || !walking) continue;
      const pace = walk.stepFrequency.reduce((sum, f) => sum + f, 0) / walk.times.length;
      // Spectra over 8 s tell lines apart that lie 1/8 Hz from each other.
      expect(Math.abs(stepFrequency - pace)).toBeLessThan(1 / 8);
    }
  });
});

describe('clips of another make', () => {
  const kinds = ['heading', 'turn90', 'panhold', 'locked'] as const;
  test.each<[string, WalkOverrides]>([
    ['with twice the sway', { swayScale: 2 }],
    ['with no sway at all', { swayScale: 0 }],
    ['at 1.3 steps a second', { meanStepFrequency: 1.3 }],
    ['at 2.6 steps a second', { meanStepFrequency: 2.6 }],
    ['with steps twice as hard', { gaitScale: 2 }],
    ['of 24000/1001 frames a second', { frameRate: 24000 / 1001 }],
    ['of 25 frames a second', { frameRate: 25 }],
    ['of 30000/1001 frames a second', { frameRate: 30000 / 1001 }],
    ['of 60000/1001 frames a second', { frameRate: 60000 / 1001 }],
    ['of 120 frames a second', { frameRate: 120, duration: 20 }],
    ['of 10 frames a second', { frameRate: 10 }],
  ])('%s come out nearer to what was meant', (_words, overrides) => {
    for (const kind of kinds) {
      const examples = [51, 52].map((seed) => example(kind, seed, overrides));
      expectGain(examples);
      for (const { separation } of examples) {
        expect(separation.confidence).toBeGreaterThan(0);
        expect(separation.confidence).toBeLessThanOrEqual(1);
      }
    }
  });
});

describe('a walk that', () => {
  // While somebody stands only the sway is left to remove: at least half of it must go.
  test('stops is held steady afterwards', () => {
    for (const seed of SEEDS) {
      const { walk, separation } = example('walkstop', seed);
      const after = walk.events[0]!.end + 1;
      const left = error(walk, separation.intended.quaternions, after);
      expect(left).toBeLessThan(0.5 * error(walk, walk.measured, after));
    }
  });

  test('starts is held steady before', () => {
    for (const seed of SEEDS) {
      const { walk, separation } = example('walkstart', seed);
      const before = walk.events[0]!.start - 1;
      const left = error(walk, separation.intended.quaternions, 0, before);
      expect(left).toBeLessThan(0.5 * error(walk, walk.measured, 0, before));
    }
  });

  test('goes on loses its steps by more than nine tenths', () => {
    // The bob alone, since the sway is turned down to a tenth.
    expectGain(
      SEEDS.map((seed) => example('heading', seed, { swayScale: 0.1 })),
      0.1,
    );
  });
});

describe('a locked-off shot', () => {
  const stirs = (path: Float64Array) => {
    const angles = anglesOf(path);
    const spread = (axis: 'heading' | 'tilt') =>
      rms(angles.map((angle) => wrapAngle(angle[axis] - angles[0]![axis])));
    return Math.hypot(spread('heading'), spread('tilt'));
  };

  test('holds still', () => {
    for (const kind of ['locked', 'tripod'] as const) {
      for (const { walk, separation } of SEEDS.map((seed) => example(kind, seed))) {
        // Of the drift of the body, at least three quarters must go.
        expect(stirs(separation.intended.quaternions)).toBeLessThan(0.25 * stirs(walk.measured));
      }
    }
  });

  test('does not move at all when it is said to be one', () => {
    const { walk } = example('locked', 41);
    const { intended, confidence } = separate(trackOf(walk), { shot: 'locked-off' });
    // Its coordinates are constant; along a reference path that sways by 1°, 0.02 rad, they mean
    // the same orientation to second order, 0.02² rad.
    expect(stirs(intended.quaternions)).toBeLessThan(0.02 ** 2 / deg);
    expect(confidence).toBe(1);
  });
});

describe('a turn of 30° to 120° by a body that hardly sways', () => {
  /** How far the heading lies beyond its goal after a turn, and short of its start before, degrees. */
  const overshoots = (['panhold', 'turn90'] as const).flatMap((kind) =>
    [41, 42, 43, 44, 45, 46].flatMap((seed) => {
      const { walk, separation } = example(kind, seed, { swayScale: 0.1 });
      const { events, times, truth } = walk;
      const off = anglesOf(separation.intended.quaternions).map(({ heading }, k) =>
        wrapAngle(heading - truth.heading[k]!),
      );
      return events.map(({ start, end, angle }, i) => {
        const until = Math.min(end + 3, events[i + 1]?.start ?? Number.POSITIVE_INFINITY);
        const since = Math.max(start - 3, events[i - 1]?.end ?? 0);
        return off.reduce((worst, x, k) => {
          const time = times[k]!;
          const beyond = time >= end && time < until ? x : time > since && time <= start ? -x : 0;
          return Math.max(worst, (beyond * Math.sign(angle)) / deg);
        }, 0);
      });
    }),
  );

  test('keeps its start and its stop to within a degree', () => {
    expect(Math.max(...overshoots)).toBeLessThan(1);
  });

  test('does so to within a tenth of a degree more often than not', () => {
    const middle = overshoots.sort((a, b) => a - b)[overshoots.length >> 1]!;
    // A tenth of the sway, up to a degree.
    expect(middle).toBeLessThan(0.1);
  });
});

describe('a creep of 8° in 15 s, slower than sway,', () => {
  const CREEP = 8 * deg;
  const walk = makeWalk('locked', 44, { duration: 35, frameRate: 30 });
  const creep = walk.times.map((time) => {
    const u = Math.min(Math.max((time - 10) / 15, 0), 1);
    return CREEP * u * u * (3 - 2 * u);
  });
  const turned = (path: Float64Array) =>
    path.map((_, i) => {
      const k = i >> 2;
      const turn = quaternionFromAxisAngle([0, 1, 0], creep[k]!);
      return composeQuaternions(turn, path.subarray(4 * k, 4 * k + 4))[i % 4]!;
    });
  const track = createTrack({ times: walk.times, quaternions: turned(walk.measured) });
  const stretch = { from: 9.5, to: 25.5 };
  /** The intended path, and how far its heading goes from the beginning to the end of the stretch. */
  const marked = (intent: 'move' | 'hold') => {
    const { intended } = separate(track, { markers: [{ ...stretch, intent }] });
    // The way that is not shown within a hold is made up around its end, over a shortest move of
    // 2 s, half of it before.
    const settled = intent === 'hold' ? 2 : 0;
    const within = anglesOf(intended.quaternions).filter(
      (_, k) => walk.times[k]! >= stretch.from + settled && walk.times[k]! <= stretch.to - settled,
    );
    return { intended, way: wrapAngle(within.at(-1)!.heading - within[0]!.heading) };
  };

  test('is kept where it is marked as a move', () => {
    const { intended, way } = marked('move');
    // No further off than the sway, up to a degree on three axes, that cannot be told from it.
    const off = angularDistances(intended.quaternions, turned(walk.intendedWithDrift));
    expect(rms(off)).toBeLessThan(Math.sqrt(3));
    expect(Math.abs(way - CREEP)).toBeLessThan(0.25 * CREEP);
  });

  test('is removed where it is marked as held', () => {
    expect(Math.abs(marked('hold').way)).toBeLessThan(0.25 * CREEP);
  });
});

test('a glance of half a second is faster than any move, and kept where it is marked as one', () => {
  const walk = makeWalk('locked', 44, { duration: 20, frameRate: 30 });
  const GLANCE = 10 * deg;
  // Out and back between 10 and 10.5 s.
  const glance = Float64Array.from(
    [...walk.times].flatMap((time) => {
      const out = time > 10 && time < 10.5 ? Math.sin(2 * Math.PI * (time - 10)) ** 2 : 0;
      return [...quaternionFromAxisAngle([0, 1, 0], GLANCE * out)];
    }),
  );
  const track = createTrack({
    times: walk.times,
    quaternions: composeQuaternions(glance, walk.measured),
  });
  /** How far the view follows at the height of the glance. */
  const followed = (markers: Parameters<typeof separate>[1]) => {
    const { heading } = anglesOf(separate(track, markers ?? {}).intended.quaternions)[
      Math.round(10.25 * 30)
    ]!;
    const { heading: around } = anglesOf(walk.intendedWithDrift)[Math.round(10.25 * 30)]!;
    return wrapAngle(heading - around) / GLANCE;
  };
  // Closed at 0.5 Hz: the peak of the spline's kernel, 2π/3 · 0.5 Hz, times a quarter of a second; a
  // body of half a degree to a degree may lean on it.
  expect(Math.abs(followed({}) - Math.PI / 12)).toBeLessThan(0.1);
  // Open to 2 Hz: half of the half of the glance that swings at 2 Hz is lost.
  const marked = followed({ markers: [{ from: 9.5, to: 11.5, intent: 'move' }] });
  expect(Math.abs(marked - 0.75)).toBeLessThan(0.1);
});

test('a tilt through the zenith is followed, and its bob taken off', () => {
  for (const seed of SEEDS) {
    const walk = makeWalk('heading', seed, { duration: 30, frameRate: 30 });
    const meant = Float64Array.from(
      [...walk.times].flatMap((time) => {
        const u = Math.min(Math.max((time - 12) / 6, 0), 1);
        const tilt = (20 + 140 * u * u * u * (10 - 15 * u + 6 * u * u)) * deg;
        return [...quaternionFromHeadingTiltRoll(0.4, tilt, 0)];
      }),
    );
    const body = composeQuaternions(invertQuaternions(walk.intended), walk.measured);
    const drift = composeQuaternions(invertQuaternions(walk.intended), walk.intendedWithDrift);
    const steep: SyntheticWalk = {
      ...walk,
      measured: composeQuaternions(meant, body),
      intendedWithDrift: composeQuaternions(meant, drift),
    };
    const { intended } = separate(trackOf(steep));
    // At least four fifths of the body must go.
    expect(error(steep, intended.quaternions)).toBeLessThan(0.2 * error(steep, steep.measured));
  }
});

describe('a short clip', () => {
  test.each([3.1, 4, 5, 6.5, 7.9])('of %d s is separated with a warning', (duration) => {
    for (const kind of ['heading', 'panhold', 'roaming', 'locked'] as const) {
      const walk = makeWalk(kind, 45, { duration, frameRate: 30 });
      const separation = separate(trackOf(walk));
      expect(codes(separation)).toContain('motion/short');
      expect(separation.confidence).toBeLessThan(0.8);
      expect(separation.intended.quaternions.every(Number.isFinite)).toBe(true);
    }
  });

  test('of 8 s and more is not warned about', () => {
    const walk = makeWalk('heading', 45, { duration: 8.1, frameRate: 30 });
    expect(codes(separate(trackOf(walk)))).not.toContain('motion/short');
  });

  test('below 3 s is refused', () => {
    const track = trackOf(makeWalk('heading', 45, { duration: 2.9, frameRate: 30 }));
    expect(() => separate(track)).toThrow(complaint('track/too-short', 'at least 3 s'));
  });
});

test('fewer than ten samples a second are refused', () => {
  const track = trackOf(makeWalk('heading', 45, { duration: 20, frameRate: 9 }));
  expect(() => separate(track)).toThrow(complaint('track/too-sparse', '9.0 samples per second'));
});

describe('the grid that the work is done on', () => {
  const walkAt = (times: Float64Array) =>
    createTrack({
      times,
      quaternions: Float64Array.from(
        [...times].flatMap((t) => [
          ...quaternionFromHeadingTiltRoll(0.1 * t, 0.02 * Math.sin(12 * t), 0),
        ]),
      ),
    });
  const gridOf = (times: Float64Array) => {
    const { intended, components } = separate(walkAt(times));
    expect(intended.quaternions.every(Number.isFinite)).toBe(true);
    return components!.bob.tilt.length;
  };

  test('is no finer than the samples where they come in bursts', () => {
    const times = Float64Array.from(
      { length: 900 },
      (_, k) => Math.floor(k / 3) / 60 + (k % 3) * 1e-5,
    );
    expect(gridOf(times)).toBeLessThanOrEqual(900);
  });

  test('ends at a thousand samples a second', () => {
    const times = Float64Array.from({ length: 4 * 4000 + 1 }, (_, k) => k / 4000);
    expect(gridOf(times)).toBe(4001);
  });
});

test('an unclear guess comes with the advice to say which shot it is', () => {
  const walk = makeWalk('heading', 45, { duration: 3.5, frameRate: 30 });
  const guess = separate(trackOf(walk));
  expect(guess.confidence).toBeLessThan(0.6);
  expect(codes(guess)).toContain('motion/shot-unclear');
  expect(codes(separate(trackOf(walk), { shot: 'pan' }))).not.toContain('motion/shot-unclear');
});

test.each(['travelling', 'pan', 'locked-off'] as const)(
  'taken for %s, rightly or wrongly, a clip still keeps to a limit',
  (shot) => {
    const most = 4 * deg;
    for (const kind of ['turn90', 'roaming', 'locked'] as const) {
      const { walk } = example(kind, 46, { duration: 25 });
      const { intended } = separate(trackOf(walk), { shot });
      const total = new Float64Array(walk.times.length).fill(most);
      const limited = limitPath(walk.measured, intended.quaternions, { total }, 30);
      // The distance is read off two quaternions: four products of half an epsilon each.
      for (const angle of angularDistances(walk.measured, limited.quaternions)) {
        expect(angle).toBeLessThan(most + 16 * Number.EPSILON);
      }
    }
  },
);

describe('time stamps that are not even', () => {
  const walk = makeWalk('turn90', 47, { duration: 25, frameRate: 30 });
  const pick = (kept: (k: number) => boolean): OrientationTrack =>
    createTrack({
      times: walk.times.filter((_, k) => kept(k)),
      quaternions: walk.measured.filter((_, i) => kept(i >> 2)),
    });

  test('are those of the result, which is nearly that of even ones', () => {
    const kept = (k: number) => k % 7 !== 3;
    const { intended } = separate(pick(kept));
    expect(intended.times).toEqual(walk.times.filter((_, k) => kept(k)));
    const whole = separate(trackOf(walk)).intended.quaternions.filter((_, i) => kept(i >> 2));
    // Interpolation knows less of the tremor, which is taken off anyway: 0.2° of tremor at most.
    expect(rms(angularDistances(intended.quaternions, whole))).toBeLessThan(0.2);
  });

  test('that jitter by a tenth of a frame do no more than their own noise', () => {
    const times = walk.times.map((time, k) => Math.max(0, time + (0.1 / 30) * Math.sin(7 * k)));
    const { intended } = separate(createTrack({ times, quaternions: walk.measured }));
    const whole = separate(trackOf(walk)).intended.quaternions;
    // A turn of up to 110° in 1.5 s goes up to 138 °/s; 0.1 of a frame of it is 0.46°.
    expect(rms(angularDistances(intended.quaternions, whole))).toBeLessThan(0.46);
  });
});

test('which way a walk sets out does not matter to what is taken off', () => {
  const { walk, separation } = example('turn90', 41);
  const turn = quaternionFromAxisAngle([0, 1, 0], 2.5);
  const track = createTrack({
    times: walk.times,
    quaternions: composeQuaternions(turn, walk.measured),
  });
  const there = composeQuaternions(turn, separation.intended.quaternions);
  // Recursive filters over headings of some radians, forward and backward.
  const worst = angularDistances(separate(track).intended.quaternions, there).reduce(
    (most, angle) => Math.max(most, angle),
    0,
  );
  expect(worst).toBeLessThan(1e-7);
});

describe('while it works a separation', () => {
  const { walk } = example('heading', 41);

  test('reports a share that rises from 0 to 1', () => {
    const shares: number[] = [];
    separate(trackOf(walk), { onProgress: (share) => shares.push(share) });
    expect(shares[0]).toBe(0);
    expect(shares.at(-1)).toBe(1);
    shares.slice(1).forEach((share, k) => {
      expect(share).toBeGreaterThan(shares[k]!);
    });
  });

  test('stops where a signal says so', () => {
    const controller = new AbortController();
    const options: SeparateOptions = {
      signal: controller.signal,
      onProgress: (share) => {
        if (share > 0) controller.abort();
      },
    };
    expect(() => separate(trackOf(walk), options)).toThrow(
      complaint('motion/aborted', 'a signal to stop'),
    );
    expect(() => separate(trackOf(walk), { signal: AbortSignal.abort() })).toThrow(
      complaint('motion/aborted', 'start again'),
    );
  });

  test('leaves the track as it was', () => {
    const track = trackOf(walk);
    const before = structuredClone(track);
    separate(track);
    expect(track).toEqual(before);
  });
});

describe.each<FilterName>(['spline', 'gaussian', 'butterworth', 'savitzky-golay'])(
  'the %s filter',
  (filter) => {
    test('improves a walk down the aisle as well', () => {
      const found = SEEDS.map((seed) => {
        const { walk } = example('heading', seed);
        return { walk, separation: separate(trackOf(walk), { filter }) };
      });
      expectGain(found);
    });

    test('says that it does not know markers', () => {
      const { walk } = example('heading', 41);
      const markers = [{ from: 1, to: 2, intent: 'move' as const }];
      expect(codes(separate(trackOf(walk), { filter, markers }))).toContain(
        'motion/markers-unused',
      );
    });
  },
);

test('travel, sway and bob add up to the camera but for tremor', () => {
  const { walk, separation } = example('heading', 42);
  const { sway, bob, times } = separation.components;
  expect(times).toBe(separation.intended.times);
  const angles = anglesOf(separation.intended.quaternions);
  const rest = anglesOf(walk.measured).map(
    ({ tilt }, k) => tilt - angles[k]!.tilt - sway.tilt[k]! - bob.tilt[k]!,
  );
  const taken = anglesOf(walk.measured).map(({ tilt }, k) => tilt - angles[k]!.tilt);
  expect(rms(rest)).toBeLessThan(0.5 * rms(taken));
});

test('markers outside the clip are refused', () => {
  const { walk } = example('locked', 41);
  const markers = [{ from: 100, to: 110, intent: 'hold' as const }];
  expect(() => separate(trackOf(walk), { markers })).toThrow(
    complaint('argument/invalid', 'marker 1'),
  );
});
