/**
 * Synthetic walks through a night-blooming greenhouse: what the operator meant to show, and the
 * body that carried the camera there. Because both are known, a separation of the two can be judged
 * to the hundredth of a degree.
 *
 * The measured orientation of a frame is intended · exp(disturbance) · exp(tracker noise), the
 * disturbance being a rotation vector in the camera frame: x tilts, y turns the heading, z rolls.
 */
import { clamp, RADIANS_PER_DEGREE } from '../../src/math.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { multiplyQuaternions, type Quaternion } from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { type Random, seededRandom } from './random.js';
import { bandNoise, spectralNoise } from './spectralNoise.js';

export const WALK_KINDS = [
  'heading', // straight down the long aisle
  'scurve', // along the winding path between the beds
  'turn90', // round the corners of the beds
  'panhold', // pans from one bloom to the next, resting on each
  'tilt', // up a climbing cereus, perhaps down again
  'locked', // one flower, hand-held, standing
  'tripod', // one flower, on legs
  'roaming', // looking about without a pause while walking
  'walkstop', // the aisle, then standing still
  'walkstart', // standing still, then the aisle
  'roamrest', // looking about, then the gaze rests while the feet walk on
  'handheld', // moves that stay, by hands that shake broadly and on and off, without a line of steps
] as const;
export type WalkKind = (typeof WALK_KINDS)[number];

/**
 * What may be fixed or scaled instead of drawn. At equal duration and frame rate every other draw
 * stays as it is, so that clips can be compared in pairs.
 */
export interface WalkOverrides {
  /** Seconds; drawn from 20 to 60 otherwise. */
  readonly duration?: number;
  /** Frames per second. @default 60000/1001 */
  readonly frameRate?: number;
  /** Whether there are footsteps at all. */
  readonly walking?: boolean;
  /** Factor on the bob that repeats with the step; footfalls keep their size. @default 1 */
  readonly gaitScale?: number;
  /** Middle of the step frequency, Hz; drawn from 1.6 to 2.2 otherwise. */
  readonly meanStepFrequency?: number;
  /** Standard deviation of the logarithm of the step frequency. @default 0.03 */
  readonly stepFrequencySd?: number;
  /** @default 1 */
  readonly swayScale?: number;
  /** @default 1 */
  readonly driftScale?: number;
  /**
   * Lets a walk that would stop or start go on throughout: the twin of the interrupted one.
   * @default false
   */
  readonly steady?: boolean;
}

/** Axes of the camera about which it is disturbed, in the order x, y, z. */
const AXES = ['tilt', 'heading', 'roll'] as const;
type Axis = (typeof AXES)[number];
export type PerAxis<Value> = Readonly<Record<Axis, Value>>;

/**
 * Something that happens at a known time: an intended move, or the feet or the gaze coming to rest.
 */
export interface WalkEvent {
  readonly what: 'turn' | 'tilt' | 'walkStop' | 'walkStart' | 'rest';
  /** Seconds. */
  readonly start: number;
  /** Seconds. */
  readonly end: number;
  /** Radians travelled; 0 for what is not a move. */
  readonly angle: number;
}

/** One sinusoid of the bob: relativeAmplitude · sin(multiple · stepPhase + phase). */
export interface Harmonic {
  /** Frequency in units of the step frequency; a stride is two steps, hence the halves. */
  readonly multiple: number;
  readonly relativeAmplitude: number;
  readonly phase: number;
}

/** One-sided density of looking about, level / ((1 + (f/corner)^exponent) · (1 + (f/3 Hz)⁴)). */
export interface RoamingDensity {
  /** rad²/Hz */
  readonly level: number;
  /** Hz */
  readonly corner: number;
  readonly exponent: number;
}

/** What no method may see: the numbers a walk was made of. Angles in radians. */
export interface WalkTruth {
  /** Intended heading, not wrapped; length n. */
  readonly heading: Float64Array;
  /** Intended tilt; length n. */
  readonly tilt: Float64Array;
  /**
   * Roll that crept in through drift, and should go only when the horizon is levelled; length n.
   */
  readonly rollDrift: Float64Array;
  /** Phase of the step; length n. */
  readonly stepPhase: Float64Array;
  /** 1 while walking, 0 while standing, between them on the second of change; length n. */
  readonly walkingEnvelope: Float64Array;
  /** Peak amplitude of the fundamental of the bob, before its slow wander. */
  readonly bobAmplitude: PerAxis<number>;
  readonly harmonics: PerAxis<readonly Harmonic[]>;
  readonly swaySd: PerAxis<number>;
  readonly tremorSd: PerAxis<number>;
  readonly trackerNoiseSd: number;
  /**
   * Spectra of the intended looking about, before the gaze rests; null where the moves are not
   * random.
   */
  readonly roaming: Readonly<Record<'heading' | 'tilt', RoamingDensity>> | null;
}

export interface SyntheticWalk {
  readonly kind: WalkKind;
  readonly seed: number;
  /** Frames per second. */
  readonly frameRate: number;
  /** Seconds from the first frame; length n. */
  readonly times: Float64Array;
  /** Camera→world unit quaternions x, y, z, w without sign jumps; length 4n, like the next two. */
  readonly measured: Float64Array;
  /** What the operator meant, with a level horizon. */
  readonly intended: Float64Array;
  /**
   * The same with the roll drift left in: what a method can reach that knows nothing of gravity.
   */
  readonly intendedWithDrift: Float64Array;
  /** Steps per second at every frame; length n. */
  readonly stepFrequency: Float64Array;
  /** Whether there are footsteps anywhere in the clip. */
  readonly walking: boolean;
  readonly events: readonly WalkEvent[];
  readonly truth: WalkTruth;
}

/**
 * Makes the walk of a kind that belongs to a seed; the same call always gives the same walk.
 *
 * @param seed - any whole number
 */
export function makeWalk(
  kind: WalkKind,
  seed: number,
  overrides: WalkOverrides = {},
): SyntheticWalk {
  const clip = makeClip(kind, seed, overrides);
  const path = intendedPath(clip);
  const pace = walkingPace(clip);
  const step = stepTrack(clip);
  const body = clip.roams || clip.kind === 'handheld' ? CALM_BODY : STRIDING_BODY;

  const bob = bobOf(clip, body, step, pace);
  const footfall = footfallOf(clip, step, pace);
  const sway = swayOf(clip, body);
  const tremor = tremorOf(clip, body);
  const rollDrift = rollDriftOf(clip);
  const noise = trackerNoiseOf(clip);
  const shake = clip.kind === 'handheld' ? [handShakeOf(clip)] : [];

  const still = new Float64Array(clip.length);
  const drift: PerAxis<Float64Array> = { tilt: still, heading: still, roll: rollDrift };
  const disturbance = perAxis((axis) =>
    sum(
      bob.series[axis],
      footfall[axis],
      sway.series[axis],
      tremor.series[axis],
      drift[axis],
      ...shake.map((each) => each[axis]),
    ),
  );

  const intendedAt = (frame: number) =>
    quaternionFromHeadingTiltRoll(at(path.heading, frame), at(path.tilt, frame), 0);
  return {
    kind,
    seed,
    frameRate: clip.frameRate,
    times: clip.times,
    measured: quaternionTrack(clip.length, (frame) =>
      multiplyQuaternions(
        multiplyQuaternions(intendedAt(frame), rotationAt(disturbance, frame)),
        rotationAt(noise.series, frame),
      ),
    ),
    intended: quaternionTrack(clip.length, intendedAt),
    intendedWithDrift: quaternionTrack(clip.length, (frame) =>
      multiplyQuaternions(intendedAt(frame), rotationAt(drift, frame)),
    ),
    stepFrequency: step.frequency,
    walking: pace.walking,
    events: [...path.events, ...pace.events],
    truth: {
      heading: path.heading,
      tilt: path.tilt,
      rollDrift,
      stepPhase: step.phase,
      walkingEnvelope: pace.envelope,
      bobAmplitude: bob.amplitude,
      harmonics: bob.harmonics,
      swaySd: sway.sd,
      tremorSd: tremor.sd,
      trackerNoiseSd: noise.sd,
      roaming: path.roaming,
    },
  };
}

// ---------------------------------------------------------------- the clip

/** What every part of the generator needs to know. */
interface Clip {
  readonly kind: WalkKind;
  readonly overrides: WalkOverrides;
  readonly roams: boolean;
  readonly frameRate: number;
  readonly duration: number;
  readonly length: number;
  readonly times: Float64Array;
  /** Random numbers of one purpose: what one part draws leaves the others unchanged. */
  readonly randomFor: (purpose: string) => Random;
}

function makeClip(kind: WalkKind, seed: number, overrides: WalkOverrides): Clip {
  const randomFor = (purpose: string) => seededRandom(`${kind} ${seed} ${purpose}`);
  const frameRate = overrides.frameRate ?? 60000 / 1001;
  const duration = overrides.duration ?? randomFor('duration').uniform(20, 60);
  const length = Math.floor(duration * frameRate);
  return {
    kind,
    overrides,
    roams: kind === 'roaming' || kind === 'roamrest',
    frameRate,
    duration,
    length,
    times: seriesOf(length, (frame) => frame / frameRate),
    randomFor,
  };
}

// ---------------------------------------------------------------- intention

interface IntendedPath {
  readonly heading: Float64Array;
  readonly tilt: Float64Array;
  readonly events: readonly WalkEvent[];
  readonly roaming: WalkTruth['roaming'];
}

/** An intended angle over time, as a departure from where the clip began. */
interface Move {
  readonly angleAt: (time: number) => number;
  readonly event?: WalkEvent;
}

function intendedPath(clip: Clip): IntendedPath {
  const random = clip.randomFor('intention');
  const firstHeading = radians(random.uniform(-180, 180));
  const firstTilt = radians(random.uniform(-5, 5));
  if (clip.roams) return roamingPath(clip, firstHeading, firstTilt);

  const handheld = clip.kind === 'handheld' ? handheldMovesOf(clip, random) : undefined;
  const headingMoves = handheld?.turns ?? headingMovesOf(clip, random);
  const tiltMoves = handheld?.tilts ?? (clip.kind === 'tilt' ? tiltMovesOf(clip, random) : []);
  const follow = (first: number, moves: readonly Move[]) =>
    clip.times.map((time) => moves.reduce((angle, move) => angle + move.angleAt(time), first));
  return {
    heading: follow(firstHeading, headingMoves),
    tilt: follow(firstTilt, tiltMoves),
    events: [...headingMoves, ...tiltMoves].flatMap(({ event }) => event ?? []),
    roaming: null,
  };
}

function headingMovesOf(clip: Clip, random: Random): readonly Move[] {
  switch (clip.kind) {
    case 'scurve':
      return windingMoves(random);
    case 'turn90':
      return cornerMoves(clip, random);
    case 'panhold':
      return panMoves(clip, random);
    default:
      return [];
  }
}

/** A long bend and a short one laid over each other. */
function windingMoves(random: Random): readonly Move[] {
  const bend = (amplitude: number, period: number, phase: number): Move => ({
    angleAt: (time) => amplitude * Math.sin((2 * Math.PI * time) / period + phase),
  });
  return [
    bend(radians(random.uniform(10, 30)), random.uniform(10, 20), randomPhase(random)),
    bend(radians(random.uniform(2, 6)), random.uniform(6, 10), randomPhase(random)),
  ];
}

/** One to three corners, one in each equal share of the clip. */
function cornerMoves(clip: Clip, random: Random): readonly Move[] {
  const count = random.integer(1, clamp(Math.floor(clip.duration / 12), 1, 3));
  const share = clip.duration / count;
  return Array.from({ length: count }, (_, corner) => {
    const length = random.uniform(1.5, 4);
    const start = share * corner + random.uniform(1, Math.max(1.01, share - length - 1));
    return easedMove('turn', start, length, radians(random.uniform(60, 110)) * random.sign());
  });
}

/** One to four pans at steady speed, with some three seconds of rest between them. */
function panMoves(clip: Clip, random: Random): readonly Move[] {
  const count = random.integer(1, clamp(Math.floor(clip.duration / 9), 1, 4));
  const share = clip.duration / count;
  return Array.from({ length: count }, (_, pan) => {
    const speed = radians(random.uniform(10, 30));
    const rampTime = random.uniform(0.4, 1);
    // A pan too long for its share of the clip is cut down until it fits with a little time to
    // spare.
    const longest = Math.max(0, (share - 3 - rampTime) * speed * 0.95);
    const angle = Math.min(radians(random.uniform(30, 120)), longest);
    const slack = Math.max(0, share - 3 - angle / speed - rampTime);
    const start = share * pan + 1 + random.uniform(0, slack);
    return steadyPan(start, angle * random.sign(), speed, rampTime);
  });
}

/** Up in the first half of the clip; every other time down again in the second. */
function tiltMovesOf(clip: Clip, random: Random): readonly Move[] {
  const angle = radians(random.uniform(20, 45));
  const length = random.uniform(2, 5);
  const startWithin = (earliest: number, latest: number) =>
    random.uniform(earliest, Math.max(earliest, latest));
  const half = clip.duration / 2;
  const up = easedMove('tilt', startWithin(2, half - length - 1), length, angle);
  if (random.chance(0.5)) return [up];
  return [up, easedMove('tilt', startWithin(half, clip.duration - length - 2), length, -angle)];
}

/**
 * Turns of 20° to 110° and tilts of 20° to 40°, up and down by turns, over 1.5 to 5 s; the view rests
 * for four seconds and more between them.
 */
function handheldMovesOf(
  clip: Clip,
  random: Random,
): { readonly turns: readonly Move[]; readonly tilts: readonly Move[] } {
  const turns: Move[] = [];
  const tilts: Move[] = [];
  let up = 0;
  for (let start = random.uniform(4, 7); ; ) {
    const length = random.uniform(1.5, 5);
    if (start + length + 4 > clip.duration) return { turns, tilts };
    if (random.chance(0.7)) {
      const angle = radians(random.uniform(20, 110)) * random.sign();
      turns.push(easedMove('turn', start, length, angle));
    } else {
      const angle = up === 0 ? radians(random.uniform(20, 40)) : -up;
      up += angle;
      tilts.push(easedMove('tilt', start, length, angle));
    }
    start += length + random.uniform(4, 8);
  }
}

/** A move on the quintic that starts and ends without speed or acceleration. */
function easedMove(what: 'turn' | 'tilt', start: number, length: number, angle: number): Move {
  return {
    angleAt: (time) => {
      const u = clamp((time - start) / length, 0, 1);
      return angle * u * u * u * (10 - 15 * u + 6 * u * u);
    },
    event: { what, start, end: start + length, angle },
  };
}

/**
 * A pan whose speed rises along half a cosine, holds, and falls the same way; a short one never
 * reaches its speed.
 */
function steadyPan(start: number, angle: number, speed: number, rampTime: number): Move {
  const holdTime = Math.max(0, Math.abs(angle) / speed - rampTime);
  const length = holdTime + 2 * rampTime;
  // Travel since the start of a ramp, and over the whole move, in seconds at full speed.
  const rampTravel = (time: number) =>
    (time - (rampTime / Math.PI) * Math.sin((Math.PI * time) / rampTime)) / 2;
  const wholeTravel = holdTime + rampTime;
  const travel = (time: number) => {
    if (time < rampTime) return rampTravel(time);
    if (time < rampTime + holdTime) return time - rampTime / 2;
    return wholeTravel - rampTravel(length - time);
  };
  return {
    angleAt: (time) => (angle * travel(clamp(time - start, 0, length))) / wholeTravel,
    event: { what: 'turn', start, end: start + length, angle },
  };
}

/**
 * The band in which the size of looking about is set, Hz: slower than the step, faster than the way
 * through the house.
 */
const LOOKING_BAND = { low: 0.1, high: 0.5 } as const;

/** No gaze goes nearer to the zenith than this: headings lose their meaning there. */
const STEEPEST_ROAMING_TILT = radians(60);

/**
 * Heading and tilt both wander, independently and without a pause; in the last part of a roamrest
 * they come to rest.
 */
function roamingPath(clip: Clip, firstHeading: number, firstTilt: number): IntendedPath {
  const random = clip.randomFor('roaming');
  const heading = drawRoaming(clip, random, {
    corner: random.uniform(0.03, 0.06),
    bandRms: radians(random.uniform(12, 21)),
    exponent: random.uniform(3.8, 5),
  });
  const tilt = drawRoaming(clip, random, {
    corner: random.uniform(0.09, 0.15),
    bandRms: radians(random.uniform(6, 12)),
    exponent: random.uniform(3.8, 5),
  });
  const steepest = tilt.angles.reduce((most, angle) => Math.max(most, Math.abs(angle)), 0);
  const shrink = Math.min(1, (STEEPEST_ROAMING_TILT - Math.abs(firstTilt)) / steepest);

  const rest = clip.kind === 'roamrest' ? drawRest(clip) : null;
  const settle = (angles: Float64Array) =>
    rest ? fadeVelocity(angles, rest.mobilityAt, clip.times) : angles;
  return {
    heading: settle(heading.angles).map((angle) => firstHeading + angle),
    tilt: settle(tilt.angles).map((angle) => firstTilt + shrink * angle),
    events: rest ? [rest.event] : [],
    roaming: {
      heading: heading.density,
      tilt: { ...tilt.density, level: tilt.density.level * shrink * shrink },
    },
  };
}

interface RoamingDraw {
  readonly angles: Float64Array;
  readonly density: RoamingDensity;
}

function drawRoaming(
  clip: Clip,
  random: Random,
  shape: { readonly corner: number; readonly bandRms: number; readonly exponent: number },
): RoamingDraw {
  const { corner, exponent, bandRms } = shape;
  const level = bandRms ** 2 / bandPower({ level: 1, corner, exponent });
  const density = { level, corner, exponent };
  // 200 s are many times the slowest swing, so that the end of the clip knows nothing of its
  // beginning.
  const angles = spectralNoise(
    random,
    clip.length,
    clip.frameRate,
    (f) => roamingDensityAt(density, f),
    200,
  );
  return { angles, density };
}

/** One-sided power density of looking about at a frequency in Hz, rad²/Hz. */
export function roamingDensityAt(
  { level, corner, exponent }: RoamingDensity,
  frequency: number,
): number {
  return level / ((1 + (frequency / corner) ** exponent) * (1 + (frequency / 3) ** 4));
}

/** Power of looking about within its band, by the midpoint rule. */
function bandPower(density: RoamingDensity): number {
  const strips = 500;
  const width = (LOOKING_BAND.high - LOOKING_BAND.low) / strips;
  let power = 0;
  for (let strip = 0; strip < strips; strip++) {
    power += roamingDensityAt(density, LOOKING_BAND.low + (strip + 0.5) * width) * width;
  }
  return power;
}

interface Rest {
  /** 1 while the gaze roams freely, 0 once it rests. */
  readonly mobilityAt: (time: number) => number;
  readonly event: WalkEvent;
}

function drawRest(clip: Clip): Rest {
  const fadeTime = 1.5;
  const middle = clip.duration * clip.randomFor('rest').uniform(0.4, 0.6);
  const start = middle - fadeTime / 2;
  return {
    mobilityAt: (time) => 0.5 + 0.5 * Math.cos(Math.PI * clamp((time - start) / fadeTime, 0, 1)),
    event: { what: 'rest', start, end: start + fadeTime, angle: 0 },
  };
}

/** Slows a motion down by a factor that varies in time, leaving its first value where it was. */
function fadeVelocity(
  angles: Float64Array,
  mobilityAt: (time: number) => number,
  times: Float64Array,
): Float64Array {
  let faded = at(angles, 0);
  let previous = faded;
  return angles.map((angle, frame) => {
    faded += (angle - previous) * mobilityAt(at(times, frame));
    previous = angle;
    return faded;
  });
}

// ---------------------------------------------------------------- the body

/** Ranges from which a body draws its disturbances, in degrees. */
interface BodyRangesDeg {
  /** Peak amplitude of the fundamental of the bob, drawn evenly in the logarithm. */
  readonly bob: PerAxis<readonly [low: number, high: number]>;
  /** Root mean square of the sway about x and y; roll gets less. */
  readonly sway: readonly [low: number, high: number];
  /** Root mean square of the tremor of each axis, drawn evenly in the logarithm. */
  readonly tremor: readonly [low: number, high: number];
}

/** Somebody striding along, the camera taking every step. */
const STRIDING_BODY: BodyRangesDeg = {
  bob: { tilt: [0.5, 4], heading: [0.5, 3], roll: [0.5, 3] },
  sway: [0.3, 1],
  tremor: [0.05, 0.2],
};

/** Somebody ambling and looking about, a light camera carried softly in both hands. */
const CALM_BODY: BodyRangesDeg = {
  bob: { tilt: [0.1, 0.6], heading: [0.1, 0.6], roll: [0.1, 0.6] },
  sway: [0.1, 0.3],
  tremor: [0.03, 0.09],
};

interface Pace {
  readonly walking: boolean;
  readonly envelope: Float64Array;
  readonly events: readonly WalkEvent[];
}

/** Whether the operator walks, and when. A walk that stops or starts does so within one second. */
function walkingPace(clip: Clip): Pace {
  const { kind, overrides, duration, times } = clip;
  const walking = overrides.walking ?? walksByItself(clip);
  const throughout = times.map(() => 1);
  if (kind !== 'walkstop' && kind !== 'walkstart')
    return { walking, envelope: throughout, events: [] };

  const middle = duration * clip.randomFor('pace').uniform(0.35, 0.65);
  const start = middle - 0.5;
  const rising = times.map((time) => clamp(time - start, 0, 1));
  const changing = kind === 'walkstart' ? rising : rising.map((value) => 1 - value);
  const what = kind === 'walkstart' ? 'walkStart' : 'walkStop';
  return overrides.steady
    ? { walking, envelope: throughout, events: [] }
    : { walking, envelope: changing, events: [{ what, start, end: start + 1, angle: 0 }] };
}

function walksByItself(clip: Clip): boolean {
  switch (clip.kind) {
    case 'locked':
    case 'tripod':
    case 'handheld':
      return false;
    case 'panhold':
    case 'tilt':
      return clip.randomFor('walking').chance(0.5);
    default:
      return true;
  }
}

interface StepTrack {
  /** Hz */
  readonly frequency: Float64Array;
  /** Radians, 2π per step, not wrapped. */
  readonly phase: Float64Array;
}

/** The rhythm of the feet: steady, yet never quite. */
function stepTrack(clip: Clip): StepTrack {
  const random = clip.randomFor('step');
  const drawn = random.uniform(1.6, 2.2);
  const mean = clip.overrides.meanStepFrequency ?? drawn;
  const wander = slowWander(clip, random, clip.overrides.stepFrequencySd ?? 0.03, 4);
  const frequency = wander.map((deviation) => mean * Math.exp(deviation));
  let phase = randomPhase(random);
  return {
    frequency,
    phase: frequency.map((hertz) => {
      phase += (2 * Math.PI * hertz) / clip.frameRate;
      return phase;
    }),
  };
}

interface Bob {
  readonly series: PerAxis<Float64Array>;
  readonly amplitude: PerAxis<number>;
  readonly harmonics: PerAxis<readonly Harmonic[]>;
}

/**
 * The part that repeats with the step: a few harmonics whose common size wanders, mostly alike on
 * the three axes.
 */
function bobOf(clip: Clip, body: BodyRangesDeg, step: StepTrack, pace: Pace): Bob {
  const random = clip.randomFor('bob');
  const amplitude = perAxis(
    (axis) => radians(random.logUniform(...body.bob[axis])) * (clip.overrides.gaitScale ?? 1),
  );
  const harmonics = perAxis((axis) =>
    axis === 'tilt' ? tiltHarmonics(random) : strideHarmonics(random),
  );
  const sharedWander = slowWander(clip, random, 0.2, 3);
  const series = perAxis((axis) => {
    const ownWander = slowWander(clip, random, 0.2, 3);
    const strength = pace.walking ? amplitude[axis] : 0;
    return step.phase.map((phase, frame) => {
      const wander = 0.7 * at(sharedWander, frame) + 0.7 * at(ownWander, frame);
      const envelope = strength * at(pace.envelope, frame) * Math.exp(wander);
      return envelope * harmonicSum(harmonics[axis], phase);
    });
  });
  return { series, amplitude, harmonics };
}

/** The head nods once per step; a limp shows at half that rate. */
function tiltHarmonics(random: Random): readonly Harmonic[] {
  return [
    harmonic(random, 1, 1, 1),
    harmonic(random, 2, 0.1, 0.4),
    harmonic(random, 3, 0.03, 0.12),
    harmonic(random, 0.5, 0.05, 0.25),
  ];
}

/** Heading and roll swing once per stride, left and right. */
function strideHarmonics(random: Random): readonly Harmonic[] {
  return [
    harmonic(random, 0.5, 1, 1),
    harmonic(random, 1, 0.1, 0.4),
    harmonic(random, 1.5, 0.05, 0.25),
    harmonic(random, 2, 0.02, 0.08),
  ];
}

function harmonic(random: Random, multiple: number, least: number, most: number): Harmonic {
  return { multiple, relativeAmplitude: random.uniform(least, most), phase: randomPhase(random) };
}

function harmonicSum(harmonics: readonly Harmonic[], stepPhase: number): number {
  let total = 0;
  for (const { multiple, relativeAmplitude, phase } of harmonics) {
    total += relativeAmplitude * Math.sin(multiple * stepPhase + phase);
  }
  return total;
}

/**
 * The jolt of every heel: a short ringing in tilt, and less of it in roll, to the left and the
 * right in turn.
 */
function footfallOf(clip: Clip, step: StepTrack, pace: Pace): PerAxis<Float64Array> {
  const series = perAxis(() => new Float64Array(clip.length));
  // A camera carried softly feels no heels: one jolt would exceed all the fast motion there is in
  // such hands.
  if (!pace.walking || clip.roams) return series;

  const random = clip.randomFor('footfall');
  const size = radians(random.uniform(0.1, 0.6));
  const ringing = random.uniform(7, 11);
  const pulse = seriesOf(Math.floor(0.5 * clip.frameRate), (frame) => {
    const time = frame / clip.frameRate;
    return Math.exp(-time / 0.06) * Math.sin(2 * Math.PI * ringing * time);
  });
  framesBeforeSteps(step.phase).forEach((frame, stepIndex) => {
    const strength = size * (1 + 0.3 * random.uniform(-1, 1)) * at(pace.envelope, frame);
    const side = stepIndex % 2 === 0 ? 1 : -1;
    addPulse(series.tilt, pulse, frame, strength);
    addPulse(series.roll, pulse, frame, 0.4 * strength * side);
  });
  return series;
}

/** The frames after which the step phase passes a whole number of turns. */
function framesBeforeSteps(phase: Float64Array): readonly number[] {
  const turnAt = (frame: number) => Math.floor(at(phase, frame) / (2 * Math.PI));
  const frames: number[] = [];
  for (let frame = 0; frame + 1 < phase.length; frame++) {
    if (turnAt(frame + 1) > turnAt(frame)) frames.push(frame);
  }
  return frames;
}

function addPulse(
  series: Float64Array,
  pulse: Float64Array,
  start: number,
  strength: number,
): void {
  const end = Math.min(series.length, start + pulse.length);
  for (let frame = start; frame < end; frame++) {
    series[frame] = at(series, frame) + strength * at(pulse, frame - start);
  }
}

interface SizedNoise {
  readonly series: PerAxis<Float64Array>;
  readonly sd: PerAxis<number>;
}

/** The slow leaning of a body that keeps its balance. */
function swayOf(clip: Clip, body: BodyRangesDeg): SizedNoise {
  const random = clip.randomFor('sway');
  // Legs hold nearly all of it.
  const support = clip.kind === 'tripod' ? 0.03 : 1;
  const sd = perAxis((axis) => {
    const share = axis === 'roll' ? 0.6 : 1;
    return (
      radians(random.uniform(...body.sway)) * share * support * (clip.overrides.swayScale ?? 1)
    );
  });
  const band = { lowHz: 0.1, highHz: 0.5, order: 2 };
  return {
    sd,
    series: perAxis((axis) => bandNoise(random, clip.length, clip.frameRate, band, sd[axis])),
  };
}

/** The quick trembling of muscles. */
function tremorOf(clip: Clip, body: BodyRangesDeg): SizedNoise {
  const random = clip.randomFor('tremor');
  const support = clip.kind === 'tripod' ? 0.2 : 1;
  const sd = perAxis(() => radians(random.logUniform(...body.tremor)) * support);
  const band = { lowHz: 6, highHz: 12, order: 4 };
  return {
    sd,
    series: perAxis((axis) => bandNoise(random, clip.length, clip.frameRate, band, sd[axis])),
  };
}

/**
 * The shake of hands that carry a light camera: broad from 0.3 to 6 Hz without lines, density falling
 * with f³ as in the heading, tilt and roll of two people who walked about with a phone (0.9° between
 * 0.5 and 1.3 Hz, 0.3° to 2.6 Hz, 0.17° to 6 Hz), coming and going over seconds; 5 to 20 °/s.
 *
 * @see Michel, Genevès, Fourati, Layaïda, public benchmark of attitude on smartphones
 */
function handShakeOf(clip: Clip): PerAxis<Float64Array> {
  const random = clip.randomFor('hand shake');
  // rad²/Hz at 1 Hz: half a square degree, by a size in amplitude from 0.5 to 2.
  const level = 0.5 * radians(1) ** 2 * random.logUniform(0.5, 2) ** 2;
  const density = (f: number) => level / (f ** 3 * (1 + (0.3 / f) ** 6) * (1 + (f / 6) ** 8));
  const wander = slowWander(clip, random, 0.6, 4);
  return perAxis((axis) => {
    const share = axis === 'roll' ? 0.7 : 1;
    const noise = spectralNoise(random, clip.length, clip.frameRate, density, 20);
    return noise.map((value, frame) => share * Math.exp(at(wander, frame)) * value);
  });
}

/** The horizon that creeps over the length of a clip. */
function rollDriftOf(clip: Clip): Float64Array {
  const random = clip.randomFor('drift');
  const whole = radians(random.uniform(0.5, 3)) * random.sign() * (clip.overrides.driftScale ?? 1);
  const period = random.uniform(40, 90);
  const phase = randomPhase(random);
  return clip.times.map(
    (time) =>
      whole * (time / clip.duration - 0.5) +
      0.3 * whole * Math.sin((2 * Math.PI * time) / period + phase),
  );
}

/** What the tracker adds of its own: white, alike on the three axes. */
function trackerNoiseOf(clip: Clip): {
  readonly series: PerAxis<Float64Array>;
  readonly sd: number;
} {
  const random = clip.randomFor('tracker noise');
  const sd = radians(random.uniform(0.01, 0.05));
  return { sd, series: perAxis(() => seriesOf(clip.length, () => sd * random.normal())) };
}

// ---------------------------------------------------------------- means

/**
 * A random walk drawn back to zero (an Ornstein–Uhlenbeck process), averaged over half a second to
 * take its roughness off.
 *
 * @param sd - standard deviation before averaging
 * @param memoryS - time after which the correlation has fallen to 1/e
 */
function slowWander(clip: Clip, random: Random, sd: number, memoryS: number): Float64Array {
  const keep = Math.exp(-1 / (clip.frameRate * memoryS));
  const impulse = sd * Math.sqrt(1 - keep * keep);
  let value = sd * random.normal();
  const rough = seriesOf(clip.length, (frame) => {
    if (frame > 0) value = keep * value + impulse * random.normal();
    return value;
  });
  return runningMean(rough, Math.floor(0.25 * clip.frameRate));
}

/** Mean over `reach` samples to either side; beyond the ends the end values go on. */
function runningMean(series: Float64Array, reach: number): Float64Array {
  const last = series.length - 1;
  const extended = (index: number) => at(series, clamp(index, 0, last));
  let total = 0;
  for (let index = -reach; index <= reach; index++) total += extended(index);
  return series.map((_, index) => {
    const mean = total / (2 * reach + 1);
    total += extended(index + reach + 1) - extended(index - reach);
    return mean;
  });
}

/** Gathers one quaternion per frame, choosing of ±q the one nearer to the frame before. */
function quaternionTrack(
  length: number,
  quaternionAt: (frame: number) => Quaternion,
): Float64Array {
  const track = new Float64Array(4 * length);
  let previous: Quaternion = [0, 0, 0, 1];
  for (let frame = 0; frame < length; frame++) {
    const [x, y, z, w] = quaternionAt(frame);
    const dot = x * previous[0] + y * previous[1] + z * previous[2] + w * previous[3];
    previous = dot < 0 ? [-x, -y, -z, -w] : [x, y, z, w];
    track.set(previous, 4 * frame);
  }
  return track;
}

function rotationAt(vector: PerAxis<Float64Array>, frame: number): Quaternion {
  return quaternionFromRotationVector([
    at(vector.tilt, frame),
    at(vector.heading, frame),
    at(vector.roll, frame),
  ]);
}

function perAxis<Value>(make: (axis: Axis) => Value): PerAxis<Value> {
  const [tilt, heading, roll] = AXES;
  return { tilt: make(tilt), heading: make(heading), roll: make(roll) };
}

function seriesOf(length: number, valueAt: (index: number) => number): Float64Array {
  const series = new Float64Array(length);
  for (let index = 0; index < length; index++) series[index] = valueAt(index);
  return series;
}

function sum(first: Float64Array, ...others: readonly Float64Array[]): Float64Array {
  return first.map((value, index) =>
    others.reduce((total, other) => total + at(other, index), value),
  );
}

/** Reads a sample that is known to exist. */
function at(series: Float64Array, index: number): number {
  return series[index]!;
}

function randomPhase(random: Random): number {
  return random.uniform(0, 2 * Math.PI);
}

function radians(degrees: number): number {
  return degrees * RADIANS_PER_DEGREE;
}
