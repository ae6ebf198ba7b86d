/**
 * Every name of the main entry and of the rooms that run in a browser, for pages without a bundler.
 *
 * @packageDocumentation
 */
export * from './comfort.js';
export * from './handoff.js';
export * from './index.js';
export * from './inertial.js';
export * from './motion.js';
export * from './read.js';
export * from './rig.js';
export * from './rotation.js';
export * from './sync.js';
export * from './track.js';
