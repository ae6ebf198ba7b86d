/**
 * What was meant and what the body added: separation, horizon, aim. Knows no lens. The examples start from the
 * same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export { type AimKey, aimPath } from './motion/aim.js';
export type { ClassicFilterName } from './motion/classicFilters.js';
export type { ClipFrame, FrameAimKey, FrameMarker } from './motion/frameKeys.js';
export type { FeltSteps } from './motion/gait.js';
export { levelPath, levelWorld } from './motion/horizon.js';
export type { Marker } from './motion/markers.js';
export type { Coordinates } from './motion/pathCoordinates.js';
export {
  type BodyMotion,
  type FilterName,
  type SeparateOptions,
  type Separation,
  separate,
} from './motion/separate.js';
export type { ShotKind } from './motion/shot.js';
export { movesOfTake, type TakeMove } from './motion/takeMoves.js';
