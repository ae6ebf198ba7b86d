/**
 * From a gyro and accelerometer log to an orientation: two files joined, the log oriented and looked at, the steps
 * in it. The examples start from the same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export {
  type JoinedMotionLog,
  type JoinMotionLogsOptions,
  joinMotionLogs,
} from './inertial/joinMotionLogs.js';
export type { LogQuality } from './inertial/logQuality.js';
export {
  type Estimate,
  type OrientationQuality,
  type OrientedLog,
  type OrientLogOptions,
  orientLog,
} from './inertial/orientLog.js';
export type { Span } from './inertial/spans.js';
export { type StepsOfLog, stepFrequencyOfLog } from './inertial/stepFrequencyOfLog.js';
