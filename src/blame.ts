import { MOMENT_CRITERIA } from './comfort/criteria.js';
import { type MomentaryFigure, momentaryFigures } from './comfort/moments.js';
import {
  cutIntoStretches,
  largestWithin,
  type Stretch,
  type StretchReason,
} from './comfort/stretches.js';
import type { CorrectOptions } from './correctOptions.js';
import { DEGREES_PER_RADIAN } from './math.js';
import type { Measured } from './measure.js';
import { SHORTEST_MOVE } from './motion/separate.js';
import type { Prepared } from './prepare.js';
import { rounded, withUnit } from './readable.js';
import { angularDistances } from './rotation/arrays.js';
import { type Steered, steer } from './steer.js';

/** What the pipeline made of a clip so far. */
interface Made {
  readonly prepared: Prepared;
  readonly steered: Steered;
  readonly measured: Measured;
  readonly options: CorrectOptions;
}

/** Something that could have held a fault in view, and how a person says what it would be without. */
interface Suspect {
  /** Whose doing the fault is if it gets better; as before when left out. */
  readonly cause?: 'settings' | 'rig';
  /** Only faults that this one seemed to cause so far can get better; all when left out. */
  readonly insteadOf?: 'operator' | 'rig';
  /** What to solve the clip with instead. */
  readonly changes: Partial<CorrectOptions>;
  /** Whether what was separated stays as it is. */
  readonly keepsSeparation: boolean;
  /** Nothing where there is no advice but for next time. */
  readonly advice?: (trial: Trial, change: Change) => string;
}

/** The same clip solved again with other settings. */
interface Trial {
  readonly moments: readonly MomentaryFigure[];
  readonly largestCorrectionDeg: number;
}

/** What a trial makes of the figure of a stretch. */
interface Change {
  /** Such as "6.2° to 0.4°". */
  readonly words: string;
  /** Whether nothing is left above the first threshold. */
  readonly cured: boolean;
}

/**
 * Longer clips are not solved again, frames: their causes are told from how far the view was held back.
 * An hour at 60 per second would take several times as long (our judgement).
 */
const LONGEST_TRIAL = 40_000;
/** Held back by this much, what is left in view is the doing of what holds it, degrees (our judgement). */
const HELD_BACK_DEG = 0.5;
/** A trial shows a cause where it leaves less than this share of the figure (our judgement). */
const MUCH_LESS = 0.7;
/** Half levelling is what is tried where levelling costs the eyes too much. */
const HALF = 0.5;

/**
 * The take in stretches, and whose doing each is. Where something is left in view, the clip is solved
 * again without each of the own settings that could have held it there: what gets better without one is
 * the settings' doing, and what other settings would do now is what came out of that run.
 *
 * @returns stretches from the first frame to the last; cost at most eight times that of steering
 */
export function blame(made: Made): Stretch[] {
  const { times, frames } = made.steered.intended;
  const stretches = cutIntoStretches({
    times,
    ...(frames && { frames }),
    figures: made.measured.moments,
  });
  if (!stretches.some(isOpen)) return stretches;
  const suspects = suspectsOf(made);
  if (times.length > LONGEST_TRIAL) {
    const cause = suspects.find((suspect) => suspect.cause)?.cause;
    return cause ? stretches.map((stretch) => blamedByHold(stretch, made, cause)) : stretches;
  }
  let blamed = stretches;
  for (const suspect of suspects) {
    if (!blamed.some((stretch) => concerns(suspect, stretch))) continue;
    const trial = tryAgain(made, suspect);
    blamed = blamed.map((stretch) => blamedByTrial(stretch, made, suspect, trial));
  }
  return blamed;
}

/** Whether a stretch's cause may still be found by a trial. */
function isOpen({ because }: Stretch): boolean {
  return (
    because !== undefined &&
    because.now === undefined &&
    (because.cause === 'operator' || because.cause === 'rig')
  );
}

/** Whether a trial without a suspect may tell about a stretch. */
function concerns({ insteadOf }: Suspect, stretch: Stretch): boolean {
  return isOpen(stretch) && (insteadOf === undefined || stretch.because!.cause === insteadOf);
}

/** Own settings first, in the order of what one would change, then what the rig leaves. */
function suspectsOf({ options, steered }: Made): Suspect[] {
  const { limits = {}, level = 1, aim = [], markers = [], shot = 'auto', rig } = options;
  const { shortestMove = SHORTEST_MOVE, filter = 'structural' } = options;
  const { totalDeg, headingDeg, tiltDeg, rollDeg, ...limitsOfRig } = limits;
  const limited = [totalDeg, headingDeg, tiltDeg, rollDeg].some((limit) => limit !== undefined);
  const suspects: (Suspect | false)[] = [
    limited && {
      ...{ cause: 'settings', changes: { limits: limitsOfRig }, keepsSeparation: true },
      advice: ({ largestCorrectionDeg }, { words, cured }) => {
        const has = typeof totalDeg === 'number' ? ` (have ${totalDeg}°)` : '';
        const effect = cured ? 'leave nothing over' : `bring it from ${words}`;
        return `a limit of ${Math.ceil(largestCorrectionDeg)}° would ${effect}${has}`;
      },
    },
    aim.length > 0 && {
      ...{ cause: 'settings', changes: { aim: [] }, keepsSeparation: true },
      advice: (_, { words }) => `without the aim keys it goes from ${words}`,
    },
    level < 1 && {
      ...{ cause: 'settings', changes: { level: 1 }, keepsSeparation: true },
      advice: (_, { words }) => `levelling in full (--level 1) brings it from ${words}`,
    },
    shot !== 'auto' && {
      ...{ cause: 'settings', changes: { shot: 'auto' }, keepsSeparation: false },
      advice: (_, { words }) => `left to be recognised (--shot auto) it goes from ${words}`,
    },
    markers.length > 0 && {
      ...{ cause: 'settings', changes: { markers: [] }, keepsSeparation: false },
      advice: (_, { words }) => `without the markers it goes from ${words}`,
    },
    shortestMove !== SHORTEST_MOVE && {
      cause: 'settings',
      ...{ changes: { shortestMove: SHORTEST_MOVE }, keepsSeparation: false },
      advice: (_, { words }) => `a shortest move of ${SHORTEST_MOVE} s brings it from ${words}`,
    },
    filter !== 'structural' && {
      ...{ cause: 'settings', changes: { filter: 'structural' }, keepsSeparation: false },
      advice: (_, { words }) => `the structural filter brings it from ${words}`,
    },
    level > HALF && {
      ...{ insteadOf: 'rig', changes: { level: HALF }, keepsSeparation: true },
      advice: ({ moments }, { words }) => {
        const off = largestOf(figureCalled(moments, MOMENT_CRITERIA.horizon.figure).values);
        return `half levelling (--level ${HALF}) brings it from ${words}, with the horizon up to ${off.toPrecision(2)}° off`;
      },
    },
    rig !== undefined &&
      steered.limited > 0 && {
        ...{ cause: 'rig', insteadOf: 'operator' },
        changes: {
          limits: { ...limits, verticalDisparityArcmin: Number.POSITIVE_INFINITY, uncovered: 1 },
        },
        keepsSeparation: true,
      },
  ];
  return suspects.filter((suspect) => suspect !== false);
}

function tryAgain({ prepared, steered, options }: Made, suspect: Suspect): Trial {
  const { measured, trackerFaults } = prepared;
  const changed = { ...options, ...suspect.changes };
  const { intended } = steer(
    prepared,
    changed,
    suspect.keepsSeparation ? steered.separation : undefined,
  );
  const angles = angularDistances(measured.quaternions, intended.quaternions);
  return {
    moments: momentaryFigures(
      measured,
      intended,
      trackerFaults,
      // The same pace, so that the same figures can be compared.
      steered.separation.gait,
      options.rig,
    ),
    largestCorrectionDeg: largestOf(angles) * DEGREES_PER_RADIAN,
  };
}

/** The stretch with the suspect to blame, where its figure gets better without. */
function blamedByTrial(stretch: Stretch, made: Made, suspect: Suspect, trial: Trial): Stretch {
  const { because } = stretch;
  if (!because || !concerns(suspect, stretch)) return stretch;
  const [from, to] = samplesOf(stretch, made);
  const { care, bad, values, unit } = figureCalled(trial.moments, because.figure);
  const value = largestWithin(values, from, to);
  const lower = because.threshold === bad ? value <= bad : value <= care;
  if (!lower && value > MUCH_LESS * because.value) return stretch;
  const words = `${rounded(because.value)} to ${withUnit(value, unit)}`;
  const now = suspect.advice?.(trial, { words, cured: value <= care });
  return {
    ...stretch,
    because: {
      ...because,
      ...(suspect.cause && { cause: suspect.cause }),
      ...(now !== undefined && { now }),
    } satisfies StretchReason,
  };
}

/** The same where no trial was made: by how far the view was held back. */
function blamedByHold(stretch: Stretch, made: Made, cause: 'settings' | 'rig'): Stretch {
  const { because } = stretch;
  if (because?.cause !== 'operator') return stretch;
  const held = largestWithin(made.steered.heldBackDeg, ...samplesOf(stretch, made));
  return held > HELD_BACK_DEG ? { ...stretch, because: { ...because, cause } } : stretch;
}

/** First sample of a stretch, and the one after its last. */
function samplesOf({ fromFrame, toFrame }: Stretch, { steered }: Made): [number, number] {
  const first = steered.intended.frames?.[0] ?? 0;
  return [fromFrame - first, toFrame - first + 1];
}

function figureCalled(moments: readonly MomentaryFigure[], name: string): MomentaryFigure {
  return moments.find(({ figure }) => figure === name)!;
}

function largestOf(values: Float64Array): number {
  return largestWithin(values, 0, values.length);
}
