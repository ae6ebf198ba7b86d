import type { CorrectOptions } from './correctOptions.js';
import type { Warning } from './error.js';
import { orientLog } from './inertial/orientLog.js';
import { type StepsOfLog, stepFrequencyOfLog } from './inertial/stepFrequencyOfLog.js';
import { levelWorld } from './motion/horizon.js';
import { detectMount, turnMount } from './rig/mount.js';
import type { StereoRig } from './rig/stereoRig.js';
import { measuredBob, type VerticalBob } from './rig/verticalBob.js';
import { fuseTrack } from './sync/fuseTrack.js';
import { type EarlierCorrections, trackBeforeCorrections } from './track/corrections.js';
import { requireFiniteRotations } from './track/finite.js';
import { type FrameRate, formatFrameRate, framesPerSecond } from './track/frameRate.js';
import type { MotionLog } from './track/motionLog.js';
import { type OrientationTrack, withQuaternions } from './track/orientationTrack.js';
import type { Recording } from './track/recording.js';
import { resampleToFrames } from './track/resample.js';
import { mendTracker, type TrackerFault } from './track/trackerFaults.js';

/** The camera as it was, on the frames of the clip, and what was found on the way there. */
export interface Prepared {
  /** Camera→world in a level world, as the camera hung. */
  readonly levelled: OrientationTrack;
  /** The same with an upside-down mount turned: the picture stands upright in it. */
  readonly measured: OrientationTrack;
  /** Whether the camera hung upside down. */
  readonly inverted: boolean;
  /** Where the tracker stumbled. */
  readonly trackerFaults: readonly TrackerFault[];
  /** How many frames had no sample of their own. */
  readonly bridged: number;
  /** Steps that an accelerometer felt, on the clip's time. */
  readonly steps?: StepsOfLog;
  /** Up and down that an accelerometer felt, for a nearest subject. */
  readonly bob?: (nearestSubjectM: number) => VerticalBob;
  /** In the order in which they were found. */
  readonly warnings: readonly Warning[];
}

/**
 * From whatever was recorded to C on the clip's frames: a log is oriented, a log beside a track is
 * joined to it, the tracker's faults are mended, missing frames bridged, earlier corrections taken
 * back, the world levelled and the mount turned upright.
 */
export function prepare(recording: Recording, options: CorrectOptions): Prepared {
  const source = sourceOf(recording, options.frameRate);
  requireFiniteRotations(source.track.quaternions, 'track');
  const framed = resampleToFrames(source.track, options.frameRate);
  const earlier: readonly EarlierCorrections[] = options.earlier ?? [];
  const original = earlier.reduceRight(trackBeforeCorrections, framed.track);
  const levelled = levelWorld(original, options.levelAt);
  const mount = decideMount(levelled, options.rig?.mount ?? 'auto');
  // From here on the picture stands upright; the turn comes back in K.
  const measured = mount.inverted
    ? withQuaternions(levelled, turnMount(levelled.quaternions))
    : levelled;
  return {
    levelled,
    measured,
    inverted: mount.inverted,
    trackerFaults: source.faults,
    bridged: framed.bridged.length,
    ...(source.steps && { steps: source.steps }),
    ...(source.bob && { bob: source.bob }),
    warnings: [
      ...measured.warnings,
      ...stumbleWarning(source.faults),
      ...rateWarning(source.track, options.frameRate),
      ...bridgeWarning(framed.bridged),
      ...mount.warnings,
    ],
  };
}

/** One orientation track, whatever it was made from. */
interface Source extends Pick<Prepared, 'steps' | 'bob'> {
  readonly track: OrientationTrack;
  readonly faults: readonly TrackerFault[];
}

function sourceOf(recording: Recording, frameRate: FrameRate | undefined): Source {
  if (recording.kind === 'track') return mendTracker(recording.track);
  const { log } = recording;
  if (recording.kind === 'log') {
    const { track } = orientLog(log);
    const { acceleration } = log;
    return {
      track: frameRate ? track : withWarning(track, oneRotationPerLogRow(track)),
      faults: [],
      ...(acceleration && {
        steps: stepFrequencyOfLog(log),
        bob: (nearest) => measuredBob(log.times, track.quaternions, acceleration, nearest),
      }),
    };
  }
  const { track, faults } = mendTracker(recording.track);
  const framed = resampleToFrames(track, frameRate).track;
  const fused = fuseTrack(log, framed, recording.offset ? { offset: recording.offset } : {});
  return {
    track: fused.track,
    faults,
    ...(log.acceleration && { steps: onClipTime(log, fused.alignment.offset) }),
  };
}

/** Steps of a log that starts `offset` seconds before the clip; its drift is nothing beside a step. */
function onClipTime(log: MotionLog, offset: number): StepsOfLog {
  const { times, frequency, stepTimes } = stepFrequencyOfLog(log);
  const shifted = (values: Float64Array) => values.map((time) => time - offset);
  return { times: shifted(times), frequency, stepTimes: shifted(stepTimes) };
}

function withWarning(track: OrientationTrack, warning: Warning): OrientationTrack {
  return { ...track, warnings: [...track.warnings, warning] };
}

/** Whether the camera hangs upside down, as the rig says or as gravity shows. */
function decideMount(
  track: OrientationTrack,
  mount: StereoRig['mount'],
): { inverted: boolean; warnings: readonly Warning[] } {
  if (mount !== 'auto') return { inverted: mount === 'inverted', warnings: [] };
  // An estimated vertical assumes an upright camera and cannot tell.
  if (track.up !== 'gravity' && track.up !== 'stated') return { inverted: false, warnings: [] };
  const guess = detectMount(track.quaternions);
  if (guess.mount === 'upright') return { inverted: false, warnings: [] };
  const inverted = guess.mount === 'inverted';
  return {
    inverted,
    warnings: [
      {
        code: inverted ? 'rig/upside-down' : 'rig/mount-undecided',
        message: inverted
          ? `the camera hangs upside down (${Math.round(100 * guess.confidence)} % agreement): the correction turns the picture by 180° and the eyes must be exchanged; if it stood upright, the mapping's "at-rest" or an axis is the wrong way round, or say "upright" in the rig description`
          : 'whether the camera stands upright cannot be told, since it looks steeply up or down; it was taken as upright, say otherwise in the rig description',
      },
    ],
  };
}

function stumbleWarning(faults: readonly TrackerFault[]): Warning[] {
  if (faults.length === 0) return [];
  const counted = faults.some(({ fromFrame }) => fromFrame !== undefined);
  const words = faults.slice(0, LISTED).map((fault) => {
    const from = counted ? `${fault.fromFrame}` : `${fault.fromSeconds.toFixed(2)} s`;
    const to = counted ? `${fault.toFrame}` : `${fault.toSeconds.toFixed(2)} s`;
    const where = from === to ? from : `${from}–${to}`;
    const what = { wild: 'leapt away', frozen: 'frozen', jump: 'the world turned' }[fault.kind];
    return `${where} (${what}${fault.mended ? '' : ', left as it is'})`;
  });
  const more = faults.length > LISTED ? ` and ${faults.length - LISTED} more` : '';
  return [
    {
      code: 'track/stumbled',
      message: `the tracker stumbled at ${counted ? (faults.length === 1 ? 'frame ' : 'frames ') : ''}${words.join(', ')}${more}; what it shows there was bridged from the motion around it and is not the operator's`,
    },
  ];
}

/** Faults spelled out in one sentence; the result holds them all. */
const LISTED = 8;

function rateWarning(track: OrientationTrack, wanted: FrameRate | undefined): Warning[] {
  const own = track.frameRate;
  if (!own || !wanted || framesPerSecond(own) === framesPerSecond(wanted)) return [];
  return [
    {
      code: 'track/other-rate',
      message: `the track is numbered at ${formatFrameRate(own)} frames per second, the wanted rate is ${formatFrameRate(wanted)}: it was resampled and its frames numbered anew from 0; if the movie runs at ${formatFrameRate(own)}, leave the wanted rate out`,
    },
  ];
}

function bridgeWarning(bridged: Int32Array): Warning[] {
  if (bridged.length === 0) return [];
  return [
    {
      code: 'track/bridged',
      message: `${bridged.length} missing frame${bridged.length === 1 ? ' was' : 's were'} bridged by interpolation, the first is frame ${bridged[0]}`,
    },
  ];
}

function oneRotationPerLogRow(track: OrientationTrack): Warning {
  return {
    code: 'log/no-frame-rate',
    message: `no frame rate was given, so there is one correction for each of the ${track.times.length} rows of the log; pass the clip's rate, such as 60000/1001, for one per frame`,
  };
}
