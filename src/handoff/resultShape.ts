import { PROJECTIONS } from '../rig/picture.js';
import { figures, fits, listFits, type Shape } from '../shape.js';
import type { ResultFile } from './resultFile.js';

const PER_AXIS = figures('heading', 'tilt', 'roll');
const MOTION: Shape = {
  ...{ rateRmsDegPerS: PER_AXIS, rate95DegPerS: PER_AXIS },
  bandRmsDegPerS: figures('slow', 'steps', 'tremor'),
  ...figures('shareAbove30', 'shareAbove60', 'jerkRmsDegPerS3', 'weightedRmsDegPerS'),
  ...figures('bobDeg', 'horizonRmsDeg'),
};
const FAULT: Shape = {
  ...figures('from', 'to', 'fromSeconds', 'toSeconds'),
  ...{ 'fromFrame?': 'number', 'toFrame?': 'number', kind: 'word', mended: 'boolean' },
};
const MOVE: Shape = { kind: 'word', ...figures('fromSeconds', 'toSeconds', 'angleDeg') };
const STRETCH: Shape = {
  ...figures('fromFrame', 'toFrame', 'fromSeconds', 'toSeconds'),
  ...{ 'fromTimecode?': 'word', 'toTimecode?': 'word', verdict: 'word' },
  'because?': {
    ...figures('value', 'threshold'),
    ...{ cause: 'word', figure: 'word', unit: 'word', source: 'word', nextTime: 'word' },
    'now?': 'word',
  },
};
const TIME_ABOVE: Shape = {
  ...{ figure: 'word', unit: 'word' },
  ...figures('worst', 'care', 'bad', 'shareAboveCare', 'shareAboveBad'),
};
const RESULT: Shape = {
  confidence: 'number',
  swapEyes: 'boolean',
  gait: { walking: 'boolean', ...figures('stepFrequency', 'score') },
  assessment: {
    ...{ before: MOTION, after: MOTION },
    ...figures('largestCorrectionDeg', 'typicalCorrectionDeg', 'limitedShare', 'bridgedShare'),
  },
  'mask?': { centre: figures('0', '1', '2'), ...figures('opaqueFrom', 'clearUpTo') },
  'rigAssessment?': {
    ...figures('worstDisparityArcmin', 'disparity95Arcmin', 'uncoveredShare'),
    ...figures('largestSwingDeg', 'ignoredReadoutArcmin'),
    'comfortableFromM?': 'number',
    'verticalBob?': { ...figures('amplitudeCm', 'visibleDeg'), source: 'word' },
  },
};

/**
 * The first entry of a file that is not what it should be, but for lists of numbers; undefined where all
 * are. A figure that is missing would be judged as none.
 */
export function wrongEntry(file: Partial<ResultFile>): string | undefined {
  const listIfThere = (list: unknown, shape: Shape) => list === undefined || listFits(list, shape);
  const holds: Readonly<Record<string, boolean>> = {
    up: ['gravity', 'stated', 'estimated', 'unknown'].includes(file.up ?? ''),
    picture: (PROJECTIONS as readonly (string | undefined)[]).includes(file.picture),
    shot: ['travelling', 'pan', 'locked-off'].includes(file.shot ?? ''),
    ...Object.fromEntries(
      Object.entries(RESULT).map(([name, kind]) => [
        name.replace('?', ''),
        fits(file, { [name]: kind }),
      ]),
    ),
    upDeviation: Number.isFinite(file.upDeviation ?? Number.NaN) === (file.up === 'estimated'),
    frameRate: file.frameRate === undefined || typeof file.frameRate === 'string',
    startNs:
      file.startNs === undefined ||
      (typeof file.startNs === 'string' && /^-?\d{1,19}$/.test(file.startNs)),
    because: file.because === undefined || typeof file.because === 'string',
    timecode: file.timecode === undefined || typeof file.timecode === 'string',
    moves: listIfThere(file.moves, MOVE),
    trackerFaults: listIfThere(file.trackerFaults, FAULT),
    stretches: listIfThere(file.stretches, STRETCH),
    timesAbove: listIfThere(file.timesAbove, TIME_ABOVE),
    warnings: listIfThere(file.warnings, { code: 'word', message: 'word' }),
  };
  return Object.keys(holds).find((name) => !holds[name]);
}
