import { TwinkeelError } from '../error.js';
import { type ImageCircle, imageRadius, type LensMapping } from '../rig/lens.js';
import type { EyeLayout } from '../rig/picture.js';
import { chromaStep, type PixelFormat } from './pixelFormat.js';

/** One of the two eyes. */
export type EyeName = 'left' | 'right';

/** How one eye's picture shows the directions around it. */
export type EyeImage =
  | {
      /** Half a sphere, 180° by 180°. */
      readonly projection: 'half-equirect';
    }
  | {
      /** What a lens draws. */
      readonly projection: 'fisheye';
      /** How angles become distances in the picture. */
      readonly mapping: LensMapping;
      /** Angle of the image circle across, degrees. */
      readonly fieldDeg: number;
      /** Where the circle lies; default: centred in the eye's picture, as wide as its shorter side. */
      readonly circle?: ImageCircle;
    };

/** One eye's picture and its size. */
export interface EyePicture {
  /** How it shows directions. */
  readonly image: EyeImage;
  /** Pixels in a row. */
  readonly widthPx: number;
  /** Rows. */
  readonly heightPx: number;
}

/** A frame that holds both eyes. */
export interface StereoFrame {
  /** Pixels in a row of the whole frame. */
  readonly widthPx: number;
  /** Rows of the whole frame. */
  readonly heightPx: number;
  /** Where the eyes lie: left or top is the left eye. */
  readonly layout: EyeLayout;
  /** The left or upper picture. */
  readonly left: EyeImage;
  /** The right or lower picture. */
  readonly right: EyeImage;
}

/** A part of a frame, pixels. */
export interface EyeRectangle {
  /** Left edge. */
  readonly x: number;
  /** Upper edge. */
  readonly y: number;
  /** Pixels in a row. */
  readonly widthPx: number;
  /** Rows. */
  readonly heightPx: number;
}

/**
 * Where an eye's picture lies in a frame.
 *
 * @example
 * const eye = { projection: 'half-equirect' } as const;
 * const frame = { widthPx: 64, heightPx: 32, layout: 'side-by-side', left: eye, right: eye } as const;
 * eyeRectangle(frame, 'right').x; // 32 pixels
 */
export function eyeRectangle(frame: StereoFrame, eye: EyeName): EyeRectangle {
  const beside = frame.layout === 'side-by-side';
  const widthPx = beside ? frame.widthPx / 2 : frame.widthPx;
  const heightPx = beside ? frame.heightPx : frame.heightPx / 2;
  const second = eye === 'right';
  return {
    x: second && beside ? widthPx : 0,
    y: second && !beside ? heightPx : 0,
    widthPx,
    heightPx,
  };
}

/** An eye's picture in a frame. */
export function eyePicture(frame: StereoFrame, eye: EyeName): EyePicture {
  const { widthPx, heightPx } = eyeRectangle(frame, eye);
  return { image: frame[eye], widthPx, heightPx };
}

/** Where the circle of a fisheye lies in an eye's picture. */
export function circleOf({ image, widthPx, heightPx }: EyePicture): ImageCircle {
  const stated = image.projection === 'fisheye' ? image.circle : undefined;
  return (
    stated ?? {
      centrePx: [widthPx / 2, heightPx / 2],
      diameterPx: Math.min(widthPx, heightPx),
    }
  );
}

/** Width or height of a frame beyond which it is a slip of the pen, pixels. */
const LARGEST_SIDE = 2 ** 15;

/**
 * Refuses a frame that cannot be resampled.
 *
 * @param frame - what was described
 * @param format - its pixels; an eye must end where a sample of colour ends
 * @param name - what it is to the caller, `source` or `target`
 * @throws TwinkeelError `argument/invalid`
 */
export function checkFrame(frame: StereoFrame, format: PixelFormat, name: string): void {
  const { widthPx, heightPx, layout } = frame;
  const refuse = (found: string, expected: string, remedy: string) => {
    return new TwinkeelError('argument/invalid', { found: `${name}: ${found}`, expected, remedy });
  };
  if (layout !== 'side-by-side' && layout !== 'top-bottom') {
    throw refuse(`the layout "${layout}"`, 'side-by-side or top-bottom', 'correct the layout');
  }
  const eye = eyeRectangle(frame, 'left');
  const [across, down] = chromaStep(format);
  const fits = (side: number, step: number) =>
    Number.isInteger(side / step) && side >= 2 * step && side <= LARGEST_SIDE;
  if (!fits(eye.widthPx, across) || !fits(eye.heightPx, down)) {
    throw refuse(
      `a frame of ${widthPx} × ${heightPx} ${layout}, ${eye.widthPx} × ${eye.heightPx} pixels for each eye`,
      `from ${2 * across} × ${2 * down} to ${LARGEST_SIDE} × ${LARGEST_SIDE} pixels for each eye${across > 1 ? `, with ${format.chroma} a multiple of ${across} × ${down}` : ''}`,
      'crop or pad the movie to such a size, or correct the layout',
    );
  }
  for (const side of ['left', 'right'] as const) {
    const found = faultOf(frame[side]);
    if (found) throw refuse(`${side} eye with ${found[0]}`, found[1], 'correct the description');
  }
}

/** What is wrong with an eye's picture, and what is expected. */
function faultOf(image: EyeImage): [found: string, expected: string] | undefined {
  if (image.projection === 'half-equirect') return undefined;
  if (image.projection !== 'fisheye') {
    const { projection } = image as { projection: unknown };
    return [`the projection "${projection}"`, 'half-equirect or fisheye'];
  }
  const { mapping, fieldDeg, circle } = image;
  const widest = mapping.law === 'orthographic' ? 180 : 359;
  if (!(fieldDeg >= 1 && fieldDeg <= widest)) {
    return [`a field of ${fieldDeg}°`, `1° to ${widest}° across for a lens that is ${mapping.law}`];
  }
  const numbers = circle && [...circle.centrePx, circle.diameterPx];
  if (numbers && !(numbers.every(Number.isFinite) && circle.diameterPx > 0)) {
    return [`the circle ${numbers.join(', ')}`, 'its middle and its diameter, pixels'];
  }
  const half = (fieldDeg * Math.PI) / 360;
  for (let step = 1; step <= RISING_STEPS; step++) {
    const [near, far] = [step - 1, step].map((k) =>
      imageRadius(mapping, (half * k) / RISING_STEPS),
    );
    if (far! > near!) continue;
    const at = ((fieldDeg / 2) * step) / RISING_STEPS;
    return [
      `a lens whose picture folds back at ${at.toFixed(1)}° from the axis`,
      'a law that rises up to half the field',
    ];
  }
  return undefined;
}

/** A lens's law is tried at a third of a degree and closer. */
const RISING_STEPS = 720;
