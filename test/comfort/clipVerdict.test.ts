import { describe, expect, test } from 'vitest';
import { type Judged, judge } from '../../src/comfort/verdict.js';
import { type CorrectionResult, type CorrectOptions, correct } from '../../src/correct.js';
import { toJson } from '../../src/handoff/json.js';
import { readResult } from '../../src/handoff/readResult.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { anglesOfQuaternions } from '../../src/rotation/arrays.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';

const deg = RADIANS_PER_DEGREE;
const RATE = { numerator: 25, denominator: 1 };
const N = 301;
const OPTIONS = { shot: 'travelling', filter: 'spline' } as const satisfies CorrectOptions;

/** Twelve seconds past the moonflowers: a slow turn, a nod at every step, a roll at every stride. */
function walk(isThere: (frame: number) => boolean = () => true): OrientationTrack {
  const frames = Int32Array.from(Array.from({ length: N }, (_, k) => k).filter(isThere));
  const all = frameTimes(RATE, N);
  const times = Float64Array.from(frames, (frame) => all[frame]!);
  const look = (t: number) =>
    quaternionFromHeadingTiltRoll(
      0.1 * t,
      1.2 * deg * Math.sin(2 * Math.PI * 2 * t),
      1.5 * deg * Math.sin(2 * Math.PI * t),
    );
  const quaternions = Float64Array.from([...times].flatMap((t) => [...look(t)]));
  return createTrack({ times, quaternions, frames, frameRate: RATE });
}

const figuresOf = (result: CorrectionResult) => result.reasons.map(({ figure }) => figure);
const BRIDGED = expect.stringContaining('without a sample of their own');

describe('shares of the frames', () => {
  const free = correct(walk(), OPTIONS);

  test('a clip without limit and with every frame has neither', () => {
    const { limitedShare, bridgedShare } = free.assessment;
    expect({ limitedShare, bridgedShare }).toEqual({ limitedShare: 0, bridgedShare: 0 });
    expect(figuresOf(free)).not.toContainEqual(BRIDGED);
  });

  test.each([0.5, 1, 1.5])(
    'a limit of %d° is active where the free correction is larger',
    (totalDeg) => {
      const result = correct(walk(), { ...OPTIONS, limits: { totalDeg } });
      const wanted = anglesOfQuaternions(free.corrections.quaternions);
      const share = wanted.filter((angle) => angle > totalDeg * deg).length / N;
      expect(share).toBeGreaterThan(0.05);
      expect(result.assessment.limitedShare).toBe(share);
      expect(result.assessment.largestCorrectionDeg).toBeLessThanOrEqual(totalDeg);
    },
  );

  test('missing frames count as they are, in a gap and alone', () => {
    const missing = (frame: number) => (frame >= 100 && frame < 110) || frame === 200;
    const result = correct(
      walk((frame) => !missing(frame)),
      OPTIONS,
    );
    expect(result.corrections.times).toHaveLength(N);
    expect(result.assessment.bridgedShare).toBe(11 / N);
    expect(result.reasons).toContainEqual(
      expect.objectContaining({ figure: BRIDGED, value: 100 * (11 / N), level: 'care' }),
    );
  });
});

/** Parts of a result that a verdict rests on. */
const judgedParts = (result: CorrectionResult): Judged => ({
  stretches: result.stretches,
  assessment: result.assessment,
  confidence: result.confidence,
  intended: result.intended,
  ...(result.mask && { mask: result.mask }),
  ...(result.rigAssessment && { rigAssessment: result.rigAssessment }),
});

describe('the verdict of a result', () => {
  const lens = { ...DEFAULT_RIG.lens, fieldDeg: 170 };
  const clips: readonly (readonly [string, CorrectionResult])[] = [
    ['free', correct(walk(), OPTIONS)],
    ['limited', correct(walk(), { ...OPTIONS, limits: { totalDeg: 0.5 } })],
    [
      'with a rig and a mask',
      correct(walk(), { ...OPTIONS, rig: { ...DEFAULT_RIG, lens }, limits: { uncovered: 1 } }),
    ],
    [
      'with a vertical that is estimated',
      correct({ ...walk(), up: 'unknown' } as OrientationTrack, OPTIONS),
    ],
  ];

  test('the clips differ in what is judged', () => {
    const [free, limited, rigged, estimated] = clips.map(([, result]) => result);
    expect(limited!.verdict).toBe('deliver with care');
    expect(free!.verdict).toBe('deliver');
    expect(figuresOf(rigged!)).toContainEqual(expect.stringContaining('hidden by the mask'));
    expect(rigged!.rigAssessment).toBeDefined();
    expect(estimated!.intended.upDeviation).toBeGreaterThan(0);
  });

  test.each(clips)('%s: is that of its figures, in the file and read back', (_, result) => {
    const expected = judge(judgedParts(result));
    const verdictOf = ({ verdict, reasons, cautions }: typeof expected) => ({
      verdict,
      reasons,
      cautions,
    });
    expect(verdictOf(result)).toEqual(expected);
    expect(verdictOf(JSON.parse(toJson(result)))).toEqual(expected);
    expect(verdictOf(readResult(toJson(result)))).toEqual(expected);
  });

  test.each(clips)('%s: is judged anew where a file was written over', (_, result) => {
    const { verdict, reasons, cautions } = result;
    const file = JSON.parse(toJson(result));
    for (const claimed of ['deliver', 'deliver with care', 'reshoot', 'moonflower', undefined]) {
      const written = { ...file, verdict: claimed, reasons: [], cautions: [] };
      expect(readResult(JSON.stringify(written))).toMatchObject({ verdict, reasons, cautions });
    }
  });

  test('follows the figures of the file', () => {
    const [, result] = clips[0]!;
    const file = JSON.parse(toJson(result));
    file.assessment.bridgedShare = 0.31;
    const read = readResult(JSON.stringify(file));
    expect(read.verdict).toBe('reshoot');
    expect(read.reasons[0]).toMatchObject({ figure: BRIDGED, value: 31, threshold: 30 });
  });

  test('a file of a release that wrote no stretches gets them from its rotations', () => {
    for (const [, result] of clips) {
      const { stretches: _, timesAbove: __, ...older } = JSON.parse(toJson(result));
      const read = readResult(JSON.stringify(older));
      const verdicts = (each: CorrectionResult) =>
        each.stretches.map(({ fromFrame, toFrame, verdict }) => [fromFrame, toFrame, verdict]);
      expect(verdicts(read)).toEqual(verdicts(result));
      expect(read.timesAbove).toHaveLength(result.timesAbove.length);
    }
  });
});
