/** A small shoot for looking at the page: every state, every cause but one, two results of one take. */
import type { CorrectionResult } from '../../src/correct.js';
import type { FailedClip } from '../../src/report/pageData.js';
import type { NamedResult } from './browser.js';
import { type AnglesOfFrame, greenhouseClip, hangingBy, resultOf } from './clips.js';

/** Markup as a name, which the page must show as it is. */
export const MARKUP = '</script><b>fern & moss</b>';

export const FAILED: FailedClip = {
  name: '<img src=x onerror=alert(1)>',
  failed: 'vines.csv: found <script>alert(2)</script>, expected a number; correct the cell.',
};

/** Held still, then a turn of 150° in two seconds. */
const hasty: AnglesOfFrame = (k) => [
  Math.min(Math.max(k - 240, 0) * 1.25, 150),
  1.2 * Math.sin(0.2 * k),
  1,
];

export const CLIPS: readonly NamedResult[] = [
  ['greenhouse', greenhouseClip()],
  [MARKUP, resultOf({})],
  ['water tank', resultOf({ frames: 420, angles: hangingBy(3.5) })],
  ['aisle.held', resultOf({ frames: 600, angles: hasty, limits: { totalDeg: 0.4 } })],
  ['aisle.free', resultOf({ frames: 600, angles: hasty })],
];

/** In the order of the shoot; one clip was not read. */
export const SHOOT: readonly (NamedResult | FailedClip)[] = [
  ...CLIPS.slice(0, 2),
  FAILED,
  ...CLIPS.slice(2),
];

export function resultNamed(name: string): CorrectionResult {
  return CLIPS.find(([each]) => each === name)![1];
}
