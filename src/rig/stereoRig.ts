import { TwinkeelError } from '../error.js';
import { meant } from '../nearestWord.js';
import type { Quaternion } from '../rotation/quaternion.js';
import { IDENTITY } from '../rotation/quaternion.js';
import type { LensMapping } from './lens.js';
import { NEAREST_SUBJECTS_M } from './nearestSubject.js';

/** How the picture of one eye is read from the sensor. */
export interface EyeReadout {
  /** Time at which the first row is read, ms after the frame's time. */
  readonly startMs: number;
  /** Which side of the picture is read first. */
  readonly firstRow: 'top' | 'bottom';
}

/** What belongs to one eye alone. */
export interface RigEye {
  /** Unit quaternion x, y, z, w; the fixed rotation from this eye's own axes to the rig's. */
  readonly alignment: Quaternion;
  /** When the rows of this eye are read. */
  readonly readout: EyeReadout;
}

/** Two lenses side by side, and what they film. */
export interface StereoRig {
  /** Distance of the lenses, mm. */
  readonly interaxialMm: number;
  /** The lenses, which are alike. */
  readonly lens: {
    /** Angle of the image circle across, degrees. */
    readonly fieldDeg: number;
    /** How angles become distances in the picture. */
    readonly mapping: LensMapping;
    /**
     * Half angles of an image that is no circle but convex, degrees, at evenly spaced directions from
     * the picture's right counter-clockwise; within the field they replace it for coverage.
     */
    readonly boundaryDeg?: readonly number[];
  };
  /** Angle of the delivered view across, degrees; 180 for half an equirectangular picture. */
  readonly outputFieldDeg: number;
  /** How the camera hangs; `auto` looks where gravity points in the picture. */
  readonly mount: 'auto' | 'upright' | 'inverted';
  /** In what the two eyes differ. */
  readonly eyes: {
    /** The left eye's alignment and readout. */
    readonly left: RigEye;
    /** The right eye's alignment and readout. */
    readonly right: RigEye;
  };
  /** Milliseconds from the first to the last row; 0 for a global shutter. */
  readonly readoutMs: number;
  /** Distance of the nearest subject, m. */
  readonly nearestSubjectM: number;
}

/**
 * What is assumed where a rig description says nothing (common practice for interaxial, output
 * field and lens; the nearest subject is our judgement: an arm's length and a bit).
 *
 * @example
 * DEFAULT_RIG.interaxialMm; // 64 mm
 */
export const DEFAULT_RIG: StereoRig = frozen({
  interaxialMm: 64,
  lens: { fieldDeg: 190, mapping: { law: 'equidistant' } },
  outputFieldDeg: 180,
  mount: 'auto',
  eyes: {
    left: { alignment: IDENTITY, readout: { startMs: 0, firstRow: 'top' } },
    right: { alignment: IDENTITY, readout: { startMs: 0, firstRow: 'top' } },
  },
  readoutMs: 0,
  nearestSubjectM: 1,
});

/** A value that nobody can change, however deep. */
function frozen<T extends object>(value: T): T {
  for (const inner of Object.values(value)) {
    if (inner !== null && typeof inner === 'object') frozen(inner);
  }
  return Object.freeze(value);
}

/** Whether the eyes have fixed rotations of their own. */
export function isAligned({ eyes }: StereoRig): boolean {
  return [eyes.left, eyes.right].some(({ alignment: [x, y, z] }) => x !== 0 || y !== 0 || z !== 0);
}

/** A rig, and which of its entries were assumed. */
export interface RigDescription {
  /** The whole rig, with what was assumed. */
  readonly rig: StereoRig;
  /** Names of the entries that the description left to {@link DEFAULT_RIG}. */
  readonly assumed: readonly string[];
}

/**
 * Reads a rig description from JSON; its schema is docs/schema/rig.schema.json. Every entry may be
 * left out.
 *
 * @param text - a JSON object
 * @throws TwinkeelError `rig/invalid` naming the entry, what was found and what is expected
 * @example
 * const { rig, assumed } = readRig('{ "interaxialMm": 60, "lens": { "fieldDeg": 200 } }');
 * rig.lens; // { fieldDeg: 200, mapping: { law: 'equidistant' } }
 * assumed[0]; // 'lens.mapping'
 */
export function readRig(text: string): RigDescription {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw invalid(
      '',
      `text that is not JSON (${(error as Error).message.replace(/\s+/g, ' ')})`,
      'a JSON object',
    );
  }
  return rigFromValue(value);
}

/** The rig in a value that was JSON: see {@link readRig}. */
export function rigFromValue(value: unknown): RigDescription {
  const entries = record(value, 'the rig');
  const assumed: string[] = [];
  refuseMoved(entries);
  refuseUnknown(entries, Object.keys(DEFAULT_RIG), '');
  const take = <T>(name: string, fallback: T, read: (found: unknown) => T): T => {
    if (entries[name] === undefined) {
      assumed.push(name);
      return fallback;
    }
    return read(entries[name]);
  };
  const rig: StereoRig = {
    interaxialMm: take('interaxialMm', DEFAULT_RIG.interaxialMm, (v) =>
      number(v, 'interaxialMm', 1, 1000),
    ),
    lens: take('lens', DEFAULT_RIG.lens, (v) => readLens(record(v, 'lens'), assumed)),
    outputFieldDeg: take('outputFieldDeg', DEFAULT_RIG.outputFieldDeg, (v) =>
      number(v, 'outputFieldDeg', 10, 360),
    ),
    mount: take('mount', DEFAULT_RIG.mount, (v) =>
      word(v, 'mount', ['auto', 'upright', 'inverted'], MOUNTS),
    ),
    eyes: readEyes(entries.eyes, assumed),
    readoutMs: take('readoutMs', DEFAULT_RIG.readoutMs, (v) => number(v, 'readoutMs', 0, 200)),
    nearestSubjectM: take('nearestSubjectM', DEFAULT_RIG.nearestSubjectM, (v) =>
      number(v, 'nearestSubjectM', NEAREST_SUBJECTS_M.least, NEAREST_SUBJECTS_M.most),
    ),
  };
  return { rig, assumed };
}

function readLens(entries: Record<string, unknown>, assumed: string[]): StereoRig['lens'] {
  refuseUnknown(entries, ['fieldDeg', 'mapping', 'boundaryDeg'], 'lens.');
  noteMissing(entries, ['fieldDeg', 'mapping'], 'lens.', assumed);
  const mapping =
    entries.mapping === undefined ? DEFAULT_RIG.lens.mapping : readMapping(entries.mapping);
  // Beyond 90° off its axis an orthographic picture folds back onto itself.
  const widest = mapping.law === 'orthographic' ? 180 : 360;
  return {
    fieldDeg: number(
      entries.fieldDeg === undefined
        ? Math.min(DEFAULT_RIG.lens.fieldDeg, widest)
        : entries.fieldDeg,
      'lens.fieldDeg',
      10,
      widest,
    ),
    mapping,
    ...(entries.boundaryDeg !== undefined && {
      boundaryDeg: list(entries.boundaryDeg, 'lens.boundaryDeg', 8).map((v, k) =>
        number(v, `lens.boundaryDeg[${k}]`, 1, 180),
      ),
    }),
  };
}

const LAWS = ['equidistant', 'equisolid', 'stereographic', 'orthographic', 'polynomial'] as const;

function readMapping(value: unknown): LensMapping {
  const entries = record(value, 'lens.mapping');
  refuseUnknown(entries, ['law', 'coefficients'], 'lens.mapping.');
  const law = word(entries.law, 'lens.mapping.law', LAWS);
  if (law !== 'polynomial') return { law };
  const coefficients = list(entries.coefficients, 'lens.mapping.coefficients', 1).map((v, k) =>
    number(v, `lens.mapping.coefficients[${k}]`, -10, 10),
  );
  return { law, coefficients };
}

/** What says nothing of an eye leaves its parts to be assumed, each by its own name. */
function readEyes(value: unknown, assumed: string[]): StereoRig['eyes'] {
  const entries = value === undefined ? {} : record(value, 'eyes');
  refuseUnknown(entries, ['left', 'right'], 'eyes.');
  const eye = (side: 'left' | 'right') => readEye(entries[side], side, assumed);
  return { left: eye('left'), right: eye('right') };
}

function readEye(value: unknown, side: 'left' | 'right', assumed: string[]): RigEye {
  const name = `eyes.${side}`;
  const entries = value === undefined ? {} : record(value, name);
  refuseUnknown(entries, ['alignment', 'readout'], `${name}.`);
  noteMissing(entries, ['alignment', 'readout'], `${name}.`, assumed);
  const { alignment, readout } = entries;
  const fallback = DEFAULT_RIG.eyes[side];
  return {
    alignment:
      alignment === undefined ? fallback.alignment : rotation(alignment, `${name}.alignment`),
    readout:
      readout === undefined ? fallback.readout : readReadout(readout, `${name}.readout`, assumed),
  };
}

function readReadout(value: unknown, name: string, assumed: string[]): EyeReadout {
  const entries = record(value, name);
  refuseUnknown(entries, ['startMs', 'firstRow'], `${name}.`);
  noteMissing(entries, ['startMs', 'firstRow'], `${name}.`, assumed);
  return {
    startMs:
      entries.startMs === undefined ? 0 : number(entries.startMs, `${name}.startMs`, -100, 100),
    firstRow:
      entries.firstRow === undefined
        ? 'top'
        : word(entries.firstRow, `${name}.firstRow`, ['top', 'bottom']),
  };
}

function rotation(value: unknown, name: string): Quaternion {
  const parts = list(value, name, 4).map((v, k) => number(v, `${name}[${k}]`, -1.01, 1.01));
  const norm = Math.hypot(...parts);
  if (parts.length !== 4 || Math.abs(norm - 1) > 1e-3) {
    throw invalid(
      name,
      `${parts.length} numbers of norm ${norm.toFixed(4)}`,
      'a unit quaternion x, y, z, w',
    );
  }
  // What is unit already stays as it is to the last bit, so that a file reads back the same.
  const scale = Math.abs(norm - 1) < 1e-14 ? 1 : norm;
  return parts.map((part) => part / scale) as unknown as Quaternion;
}

function record(value: unknown, name: string): Record<string, unknown> {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) {
    throw invalid(name, shown(value), 'an object');
  }
  return value as Record<string, unknown>;
}

function list(value: unknown, name: string, least: number): unknown[] {
  if (!Array.isArray(value) || value.length < least) {
    throw invalid(name, shown(value), `a list of at least ${least} numbers`);
  }
  return value;
}

function number(value: unknown, name: string, least: number, most: number): number {
  if (typeof value !== 'number' || !(value >= least && value <= most)) {
    throw invalid(name, shown(value), `a number from ${least} to ${most}`);
  }
  return value;
}

/** As the guide on the rig names them. */
const MOUNTS = 'one of auto, upright, inverted (auto: gravity tells; inverted: hung upside down)';

function word<T extends string>(
  value: unknown,
  name: string,
  words: readonly T[],
  expected = `one of ${words.join(', ')}`,
): T {
  const found = words.find((each) => each === value);
  if (found !== undefined) return found;
  throw invalid(name, shown(value), expected, meant(String(value), words));
}

function noteMissing(
  entries: Record<string, unknown>,
  known: readonly string[],
  prefix: string,
  assumed: string[],
): void {
  for (const name of known) if (entries[name] === undefined) assumed.push(prefix + name);
}

/** Entries of earlier releases, and where their values stand now. */
const MOVED: ReadonlyMap<string, string> = new Map([
  ['alignment', 'as "alignment" in "left" and "right" of "eyes"'],
  ['leftReadout', 'as "readout" in "left" of "eyes"'],
  ['rightReadout', 'as "readout" in "right" of "eyes"'],
]);

function refuseMoved(entries: Record<string, unknown>): void {
  for (const [name, place] of MOVED) {
    if (entries[name] === undefined) continue;
    throw invalid(name, 'an entry of an earlier release', `its value ${place}`, 'move it there');
  }
}

function refuseUnknown(
  entries: Record<string, unknown>,
  known: readonly string[],
  prefix: string,
): void {
  const unknown = Object.keys(entries).find((name) => !known.includes(name));
  if (unknown !== undefined) {
    const expected = `one of ${known.join(', ')}`;
    throw invalid(`${prefix}${unknown}`, 'an unknown entry', expected, meant(unknown, known));
  }
}

function shown(value: unknown): string {
  try {
    return (JSON.stringify(value) ?? 'nothing').slice(0, 60);
  } catch {
    return 'lists or objects that nest too deep';
  }
}

function invalid(
  name: string,
  found: string,
  expected: string,
  remedy = 'correct the rig description',
): TwinkeelError {
  return new TwinkeelError('rig/invalid', {
    ...(name !== '' && { column: `"${name}"` }),
    found,
    expected,
    remedy,
  });
}
