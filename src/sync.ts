/**
 * A log and a picture's track of the same take: their clocks and axes brought together, or a reasoned refusal, and
 * one track made of both. The examples start from the same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export { type AlignClocksOptions, alignClocks } from './sync/alignClocks.js';
export type {
  AcceptedClock,
  ClockAlignment,
  ClockRefusal,
  RefusedClock,
} from './sync/clockAlignment.js';
export { type FusedTrack, fusedAtLogRate, fuseTrack } from './sync/fuseTrack.js';
