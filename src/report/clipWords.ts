/** What page and command say alike about a clip. */
export { describeShot } from '../words/clip.js';
export { UP_WORDS } from '../words/track.js';
