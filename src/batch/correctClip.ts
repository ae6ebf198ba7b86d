import type { CorrectionResult } from '../correct.js';
import { resultPaths, writeResult } from '../files/writeFiles.js';
import { orientationsOf } from '../handoff/poses.js';
import { describeOrientation } from '../read/describe.js';
import type { Mapping } from '../read/mapping.js';
import { quaternionAt } from '../rotation/arrays.js';
import { withQuaternions } from '../track/orientationTrack.js';
import { describeLimits, describeRigFigures, describeShot, figuresTable } from '../words/clip.js';
import { describePose } from '../words/pose.js';
import { tellStory } from '../words/story.js';
import { describeTrack } from '../words/track.js';
import {
  describeStretches,
  describeTimesAbove,
  describeVerdict,
  describeWarnings,
} from '../words/verdict.js';
import type { LoadedSettings } from './clipSettings.js';
import { correctFile } from './correctFile.js';
import { spareInputs } from './resultPlaces.js';
import { type ClipSettings, namedFiles } from './settings.js';

/** One clip from its file to its results on disk. */
export interface ClipJob {
  readonly file: string;
  /** Results are called `FOLDER/STEM.corrections.csv` and `FOLDER/STEM.result.json`. */
  readonly folder: string;
  readonly stem: string;
  readonly settings: ClipSettings;
  readonly force: boolean;
  /** Results that are there already, byte for byte, may stay without `force`. */
  readonly same?: boolean;
  /** Of the run, for the names of unfinished files. */
  readonly mark?: string;
}

/** A corrected clip, and what to say of it. */
export interface CorrectedClip {
  readonly result: CorrectionResult;
  readonly paths: readonly string[];
  /** For a person. */
  readonly lines: () => string[];
  /** For a machine. */
  readonly data: () => Record<string, unknown>;
}

/**
 * Corrects one clip and writes its results.
 *
 * @param loaded - what {@link loadSettings} made of the job's settings
 * @throws TwinkeelError naming the file and what is wrong with it
 */
export async function correctClip(job: ClipJob, loaded: LoadedSettings): Promise<CorrectedClip> {
  const { file, folder, stem, settings, force, same = false, mark } = job;
  const result = await correctFile(file, loaded.read, loaded.correct, loaded.log, loaded.accel);
  spareInputs(resultPaths(folder, stem), [file, ...namedFiles(settings)]);
  const paths = writeResult(result, folder, stem, { force, same, ...(mark && { mark }) });
  return toldClip(result, paths, 'wrote', settings, loaded);
}

/**
 * A corrected clip with what to say of it.
 *
 * @param done - what was done with the files: `wrote`, or `kept` where they were there already
 */
export function toldClip(
  result: CorrectionResult,
  paths: readonly string[],
  done: 'wrote' | 'kept',
  settings: ClipSettings,
  loaded: LoadedSettings,
): CorrectedClip {
  return {
    result,
    paths,
    lines: () => [
      ...describeTrack(result.intended).slice(0, 2),
      ...takeLines(result, loaded.read.mapping),
      describeShot(result),
      ...figuresTable(result),
      ...describeLimits(loaded.rig, settings.limit, result.picture, settings.picture !== undefined),
      ...describeRigFigures(result),
      ...describeWarnings(result.warnings),
      ...describeTimesAbove(result),
      ...describeVerdict(result),
      ...describeStretches(result),
      ...paths.map((path) => `${done} ${path}`),
      ...result.cautions,
    ],
    data: () => ({ paths, ...figuresOf(result), cautions: result.cautions }),
  };
}

/** Where the camera looked at first, and what happened then. */
function takeLines(result: CorrectionResult, mapping: Mapping | string | undefined): string[] {
  const measured = withQuaternions(result.intended, orientationsOf(result, 'measured'));
  return [
    `first frame: the camera ${describeOrientation(quaternionAt(measured.quaternions, 0))}`,
    tellStory(result),
    ...describePose(measured.quaternions, mapping),
  ];
}

/** What a machine wants to know of a result besides its rotations. */
function figuresOf(result: CorrectionResult): Record<string, unknown> {
  return {
    shot: result.shot,
    confidence: result.confidence,
    gait: result.gait,
    assessment: result.assessment,
    verdict: result.verdict,
    reasons: result.reasons,
    moves: result.moves,
    stretches: result.stretches,
    timesAbove: result.timesAbove,
    trackerFaults: result.trackerFaults,
    because: result.because,
    swapEyes: result.swapEyes,
    picture: result.picture,
    ...(result.mask && { mask: result.mask }),
    ...(result.rigAssessment && { rigAssessment: result.rigAssessment }),
    warnings: result.warnings,
  };
}
