/** What page and command say alike about a clip. */
import type { CorrectionResult } from '../correct.js';
import type { UpSource } from '../track/orientationTrack.js';

/** How the vertical is known. */
export const UP_WORDS: Readonly<Record<UpSource, string>> = {
  gravity: 'measured by the accelerometer',
  stated: 'as the file states it',
  estimated: 'estimated from how the camera is carried',
  unknown: 'not known',
};

/** Kind of shot and gait in one line. */
export function describeShot(
  result: Pick<CorrectionResult, 'shot' | 'confidence' | 'gait'> & { readonly because?: string },
): string {
  const steps = result.gait.walking
    ? `walking at ${result.gait.stepFrequency.toFixed(2)} steps per second`
    : 'no walking found';
  const why = result.because ? `; what speaks for it: ${result.because}` : '';
  return `${result.shot} shot (confidence ${Math.round(100 * result.confidence)} %), ${steps}${why}`;
}
