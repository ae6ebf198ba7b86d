import { clamp } from '../../math.js';
import { clockTime } from '../../readable.js';
import { span, what } from '../stretchWords.js';
import { element } from './dom.js';
import type { Clip } from './motion.js';
import { strip } from './strip.js';

/** The strip of a clip as a slider of its frames. */
export interface Scrubber {
  readonly view: HTMLElement;
  /** The preview is on this frame now. */
  readonly mark: (frame: number) => void;
}

export function scrubber(clip: Clip, goTo: (frame: number) => void): Scrubber {
  const needle = element('div', { class: 'needle' });
  const slider = element(
    'div',
    {
      class: 'scrubber',
      role: 'slider',
      tabindex: '0',
      'aria-label': 'moment of the clip',
      'aria-valuemin': '0',
      'aria-valuemax': String(clip.frames - 1),
    },
    strip(clip.stretches),
    needle,
  );
  slider.querySelector('svg')!.setAttribute('aria-hidden', 'true');
  let at = 0;
  const frameOf = ({ clientX }: PointerEvent) => {
    const { left, width } = slider.getBoundingClientRect();
    const frame = Math.floor(((clientX - left) / width) * clip.frames);
    return clamp(frame, 0, clip.frames - 1);
  };
  slider.addEventListener('pointerdown', (event) => {
    if (event.button !== 0) return;
    // A synthetic pointer cannot be captured, and needs not be.
    if (event.isTrusted) slider.setPointerCapture(event.pointerId);
    goTo(frameOf(event));
  });
  slider.addEventListener('pointermove', (event) => {
    if (slider.hasPointerCapture(event.pointerId)) goTo(frameOf(event));
  });
  const second = Math.round(clip.frameRate.numerator / clip.frameRate.denominator);
  slider.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const step = event.shiftKey ? second : 1;
    const targets: Readonly<Record<string, number>> = {
      ArrowLeft: at - step,
      ArrowDown: at - step,
      ArrowRight: at + step,
      ArrowUp: at + step,
      PageDown: at - second,
      PageUp: at + second,
      Home: 0,
      End: clip.frames - 1,
    };
    const target = targets[event.key];
    if (target === undefined) return;
    event.preventDefault();
    goTo(target);
  });
  return {
    view: element('div', { class: 'timeline' }, slider, ticks(clip.durationS)),
    mark: (frame) => {
      at = frame;
      slider.setAttribute('aria-valuenow', String(frame));
      slider.setAttribute('aria-valuetext', momentInWords(clip, frame));
      needle.style.left = `${(100 * (frame + 0.5)) / clip.frames}%`;
    },
  };
}

/** A moment for the ear: when, which frame, and what the stretch is good for. */
function momentInWords(clip: Clip, frame: number): string {
  const seconds = (frame * clip.frameRate.denominator) / clip.frameRate.numerator;
  const here = clip.stretches.find(({ toSeconds }) => seconds < toSeconds);
  const state = here
    ? `, ${here.verdict}${here.because ? `: ${what(here.because)}` : ''}, ${span(here)}`
    : '';
  return `${seconds.toFixed(2)} seconds, frame ${clip.firstFrame + frame}${state}`;
}

/** Times under the strip, at round distances. */
function ticks(durationS: number): HTMLElement {
  const apart =
    [1, 2, 5, 10, 20, 30, 60, 120, 300, 600].find((step) => durationS / step <= 8) ?? 1800;
  const row = element('div', { class: 'ticks', 'aria-hidden': 'true' });
  // A word at the very end would stand over the edge.
  for (let at = 0; at < durationS * 0.97; at += apart) {
    const tick = element('span', {}, clockTime(at).replace(/\.0$/, ''));
    tick.style.left = `${(100 * at) / durationS}%`;
    row.append(tick);
  }
  return row;
}
