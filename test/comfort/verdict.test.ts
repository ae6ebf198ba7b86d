import { describe, expect, test } from 'vitest';
import { CAUTIONS } from '../../src/comfort/cautions.js';
import type { MotionFigures } from '../../src/comfort/figures.js';
import type { RigAssessment } from '../../src/comfort/rigFigures.js';
import type { StretchReason } from '../../src/comfort/stretches.js';
import { type Judged, judge, type Verdict } from '../../src/comfort/verdict.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { fc } from '../seed.js';

/** The figures that are judged, each in the unit that it is shown in. */
interface Figures {
  readonly slow: number;
  readonly vertical: number;
  readonly hidden: number;
  readonly upAndDown: number;
  readonly bridged: number;
  readonly doubt: number;
}

type FigureName = keyof Figures;

const NOTHING: Figures = {
  slow: 0,
  vertical: 0,
  hidden: 0,
  upAndDown: 0,
  bridged: 0,
  doubt: 0,
};

/** What a figure must not be judged by: so bad that it would show. */
const AWFUL: MotionFigures = {
  rateRmsDegPerS: { heading: 500, tilt: 500, roll: 500 },
  rate95DegPerS: { heading: 500, tilt: 500, roll: 500 },
  shareAbove30: 1,
  shareAbove60: 1,
  bandRmsDegPerS: { slow: 500, steps: 500, tremor: 500 },
  jerkRmsDegPerS3: 1e6,
  weightedRmsDegPerS: 500,
  bobDeg: 90,
  horizonRmsDeg: 90,
};

/** A clip with these figures, awful before its correction, which must not matter. */
function clipOf(figures: Figures): Judged {
  const rigAssessment: RigAssessment = {
    worstDisparityArcmin: 500,
    disparity95Arcmin: 500,
    comfortableFromM: 500,
    uncoveredShare: 1,
    largestSwingDeg: 90,
    ignoredReadoutArcmin: 500,
    verticalBob: { amplitudeCm: 500, visibleDeg: figures.upAndDown, source: 'published gait' },
  };
  return {
    stretches: [],
    assessment: {
      before: AWFUL,
      after: { ...AWFUL, bandRmsDegPerS: { slow: figures.slow, steps: 500, tremor: 500 } },
      largestCorrectionDeg: 180,
      typicalCorrectionDeg: 180,
      limitedShare: 1,
      bridgedShare: figures.bridged / 100,
    },
    rigAssessment,
    mask: {
      centre: [0, 0, -1],
      opaqueFrom: (90 - figures.hidden) * RADIANS_PER_DEGREE,
      clearUpTo: 0,
    },
    confidence: 1 - figures.doubt / 100,
    intended: { up: 'estimated', upDeviation: figures.vertical * RADIANS_PER_DEGREE },
  };
}

const judged = (change: Partial<Figures>): Verdict => judge(clipOf({ ...NOTHING, ...change }));

const OURS = /^our judgement$/;
const AND_OURS = (publication: string) => new RegExp(`^${publication}.+ our judgement$`);

/** Every criterion: care, reshoot, unit, words of the figure, source, and words of the advice. */
const CRITERIA: Readonly<
  Record<FigureName, readonly [number, number, string, string, RegExp, string]>
> = {
  slow: [
    12,
    Number.POSITIVE_INFINITY,
    '°/s',
    '(0.1–0.5 Hz)',
    AND_OURS('Diels and Howarth 2013'),
    'straighter',
  ],
  vertical: [1, 10, '°', 'doubt about the vertical', OURS, 'accelerometer'],
  hidden: [5, 30, '°', 'hidden by the mask', OURS, 'more margin'],
  upAndDown: [1, 4, '°', 'no rotation cures', OURS, 'two metres'],
  bridged: [2, 30, '%', 'without a sample', OURS, 'track again'],
  doubt: [50, Number.POSITIVE_INFINITY, '%', 'kind of shot', OURS, '--shot'],
};
const NAMES = Object.keys(CRITERIA) as FigureName[];
const RANKS = ['deliver', 'deliver with care', 'reshoot'] as const;
const rankOf = ({ verdict }: Verdict) => RANKS.indexOf(verdict);

/** A share of a unit beside a threshold: far more than the rounding of unit conversions (1e-14). */
const BESIDE = 1e-9;

/** Figures up to beyond twice what condemns, shares and doubts up to 100 %. */
const figureArbitraries = Object.fromEntries(
  NAMES.map((name) => {
    const [care, reshoot, unit] = CRITERIA[name];
    const most = unit === '%' ? 100 : 2.2 * Math.min(reshoot, 40 * care);
    return [name, fc.integer({ min: 0, max: 1000 }).map((k) => (k / 1000) ** 2 * most)];
  }),
) as unknown as { [name in FigureName]: fc.Arbitrary<number> };
const anyFigures: fc.Arbitrary<Figures> = fc.record(figureArbitraries);

/** Mostly clips without a fault, so that one worse figure decides. */
const fewFaults: fc.Arbitrary<Figures> = fc
  .tuple(anyFigures, fc.subarray(NAMES, { maxLength: 3 }))
  .map(([figures, faulty]) => ({
    ...NOTHING,
    ...Object.fromEntries(faulty.map((name) => [name, figures[name]])),
  }));

describe('a clip without a fault', () => {
  test('is delivered, with the cautions and without a reason', () => {
    expect(judged({})).toEqual({ verdict: 'deliver', reasons: [], cautions: CAUTIONS });
  });

  test('needs no rig, no mask and no doubt about a measured vertical', () => {
    const { assessment, confidence } = clipOf(NOTHING);
    for (const up of ['gravity', 'stated'] as const) {
      expect(judge({ stretches: [], assessment, confidence, intended: { up } }).verdict).toBe(
        'deliver',
      );
    }
  });
});

describe.each(NAMES)('the figure "%s" alone', (name) => {
  const [care, reshoot, unit, words, source, advice] = CRITERIA[name];

  test('decides nothing up to its first threshold', () => {
    const { verdict, reasons } = judged({ [name]: care * (1 - BESIDE) });
    expect({ verdict, reasons }).toEqual({ verdict: 'deliver', reasons: [] });
  });

  test('asks for care between its thresholds, and says why', () => {
    const up = Math.min(reshoot, 40 * care) * (1 - BESIDE);
    const most = unit === '%' ? Math.min(100, up) : up;
    for (const value of [care * (1 + BESIDE), most]) {
      const { verdict, reasons } = judged({ [name]: value });
      expect(verdict).toBe('deliver with care');
      expect(reasons).toHaveLength(1);
      expect(reasons[0]).toEqual({
        figure: expect.stringContaining(words),
        value: expect.closeTo(value, 10),
        unit,
        threshold: care,
        level: 'care',
        source: expect.stringMatching(source),
        cause: expect.stringMatching(/^(operator|tracker|settings|rig)$/),
        nextTime: expect.stringContaining(advice),
      });
    }
  });

  test(reshoot < Number.POSITIVE_INFINITY ? 'condemns above its second' : 'never condemns', () => {
    const endless = reshoot === Number.POSITIVE_INFINITY;
    const value = endless ? Math.max(100, 2 * care) : reshoot * (1 + BESIDE);
    const { verdict, reasons } = judged({ [name]: value });
    expect(verdict).toBe(endless ? 'deliver with care' : 'reshoot');
    expect(reasons).toEqual([
      expect.objectContaining({
        figure: expect.stringContaining(words),
        value: expect.closeTo(value, 10),
        threshold: endless ? care : reshoot,
        level: endless ? 'care' : 'reshoot',
      }),
    ]);
  });
});

describe('the vertical', () => {
  const { assessment, confidence } = clipOf(NOTHING);

  test('that is not known counts as 5° of doubt', () => {
    const { verdict, reasons } = judge({
      stretches: [],
      assessment,
      confidence,
      intended: { up: 'unknown' },
    });
    expect(verdict).toBe('deliver with care');
    expect(reasons).toMatchObject([{ value: 5, unit: '°', threshold: 1, level: 'care' }]);
  });

  test('that was estimated counts by its deviation', () => {
    const intended = { up: 'estimated', upDeviation: 2 * RADIANS_PER_DEGREE } as const;
    const { reasons } = judge({ stretches: [], assessment, confidence, intended });
    expect(reasons).toMatchObject([{ value: expect.closeTo(2, 12), unit: '°' }]);
  });
});

describe('whatever the figures', () => {
  test('the worst level decides', () => {
    fc.assert(
      fc.property(fc.oneof(anyFigures, fewFaults), (figures) => {
        const level = (name: FigureName) => {
          const [care, reshoot] = CRITERIA[name];
          // Not on a threshold, where rounding to radians or shares decides.
          fc.pre(Math.abs(figures[name] / care - 1) > BESIDE);
          fc.pre(Math.abs(figures[name] / reshoot - 1) > BESIDE);
          return figures[name] > reshoot ? 2 : figures[name] > care ? 1 : 0;
        };
        const levels = NAMES.map(level);
        const found = judged(figures);
        expect(rankOf(found)).toBe(Math.max(...levels));
        expect(found.reasons).toHaveLength(levels.filter((each) => each > 0).length);
      }),
    );
  });

  test('one that gets worse never makes the verdict better, and no reason goes away or gets milder', () => {
    const worse = fc.tuple(fc.constantFrom(...NAMES), fc.integer({ min: 1, max: 1000 }));
    fc.assert(
      fc.property(fc.oneof(anyFigures, fewFaults), worse, (figures, [name, thousandths]) => {
        const [care, reshoot, unit] = CRITERIA[name];
        const most = unit === '%' ? 100 : 2.2 * Math.min(reshoot, 40 * care) + figures[name];
        const step = (thousandths / 1000) * (most - figures[name]);
        const before = judged(figures);
        const after = judged({ ...figures, [name]: figures[name] + step });
        expect(rankOf(after)).toBeGreaterThanOrEqual(rankOf(before));
        for (const reason of before.reasons) {
          const same = after.reasons.find(({ figure }) => figure === reason.figure);
          expect(same).toBeDefined();
          expect(same!.value).toBeGreaterThanOrEqual(reason.value);
          if (reason.level === 'reshoot') expect(same!.level).toBe('reshoot');
        }
      }),
      { numRuns: 300 },
    );
  });

  test('condemning reasons come first, then those furthest above their threshold', () => {
    fc.assert(
      fc.property(anyFigures, (figures) => {
        const { reasons } = judged(figures);
        for (let k = 1; k < reasons.length; k++) {
          const [first, second] = [reasons[k - 1]!, reasons[k]!];
          if (first.level === second.level) {
            const excess = second.value / second.threshold;
            expect(first.value / first.threshold).toBeGreaterThanOrEqual(excess);
          } else expect([first.level, second.level]).toEqual(['reshoot', 'care']);
        }
      }),
    );
  });

  test('each reason has finite numbers, a unit, a source and an advice, and calls nothing safe', () => {
    fc.assert(
      fc.property(anyFigures, (figures) => {
        const { verdict, reasons, cautions } = judged(figures);
        for (const { value, threshold, unit, source, nextTime, figure } of reasons) {
          expect([value, threshold].every(Number.isFinite)).toBe(true);
          expect(value).toBeGreaterThan(threshold);
          expect(['%', '°', '°/s']).toContain(unit);
          // A publication is a name and a year.
          expect(source).toMatch(/^our judgement$|^[A-Z].+ (19|20)\d\d: .+/);
          for (const text of [figure, nextTime]) expect(text.length).toBeGreaterThan(10);
        }
        expect(JSON.stringify({ verdict, reasons, cautions })).not.toMatch(/safe/i);
        expect(cautions).toEqual(CAUTIONS);
      }),
    );
  });

  test('the cautions speak of the headset, of discomfort and of a spotter', () => {
    const text = CAUTIONS.join(' ');
    for (const word of ['headset', 'discomfort', 'no medical advice', 'spotter']) {
      expect(text).toContain(word);
    }
  });

  test('the clip is left as it was', () => {
    const clip = clipOf({ ...NOTHING, bridged: 3, slow: 50 });
    const before = structuredClone(clip);
    judge(clip);
    expect(clip).toEqual(before);
  });
});

describe('a take of which a part is not usable', () => {
  const because: StretchReason = {
    ...{ figure: 'turning of the view', unit: '°/s', source: 'our judgement' },
    ...{ cause: 'operator', value: 70, threshold: 60, nextTime: 'turn more slowly' },
  };
  /** A hundred seconds, so many of them not usable. */
  const take = (bad: number): Judged => ({
    ...clipOf(NOTHING),
    stretches: [
      {
        fromFrame: 0,
        toFrame: bad - 1,
        fromSeconds: 0,
        toSeconds: bad,
        verdict: 'not usable',
        because,
      },
      { fromFrame: bad, toFrame: 99, fromSeconds: bad, toSeconds: 100, verdict: 'usable' },
    ],
  });

  test('is to be delivered with care up to half of its time, and says which part', () => {
    for (const bad of [1, 50]) {
      expect(judge(take(bad))).toMatchObject({
        verdict: 'deliver with care',
        reasons: [{ ...because, level: 'part', fromSeconds: 0, toSeconds: bad }],
      });
    }
  });

  test('is condemned beyond', () => {
    expect(judge(take(51))).toMatchObject({ verdict: 'reshoot', reasons: [{ level: 'reshoot' }] });
  });

  test('names each figure and cause once, by its worst stretch', () => {
    const [bad, usable] = take(10).stretches;
    const care = {
      ...bad!,
      verdict: 'with care',
      because: { ...because, value: 40, threshold: 30 },
    } as const;
    const { reasons } = judge({ ...take(10), stretches: [care, bad!, usable!] });
    expect(reasons).toMatchObject([{ value: 70, threshold: 60, level: 'part' }]);
  });
});
