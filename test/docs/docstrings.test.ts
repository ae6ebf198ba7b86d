/**
 * Runs the examples of all docstrings of the library: compiled strictly in one program, each run by
 * itself, and every `expression; // value` compared.
 */
import { join } from 'node:path';
import ts from 'typescript';
import { describe, expect, test } from 'vitest';
import * as library from '../../src/browser.js';
import { measuredGreenhouseWalk } from '../../src/demo/greenhouseWalk.js';
import * as node from '../../src/node.js';
import * as picture from '../../src/picture.js';
import { temporaryFolder } from '../temporaryFolder.js';
import {
  complaints,
  documentedSymbols,
  failuresOf,
  moduleOf,
  projectOptions,
} from './docstringExamples.js';

const ROOT = new URL('../../', import.meta.url).pathname;
const ENTRIES = {
  // All rooms at once.
  browser: 'src/browser.ts',
  node: 'src/node.ts',
  picture: 'src/picture.ts',
} as const;

const options = projectOptions(ROOT);
const program = ts.createProgram(
  Object.values(ENTRIES).map((entry) => join(ROOT, entry)),
  options,
);
const symbolsOf = (entry: string) => documentedSymbols(program, join(ROOT, entry));
const symbols = Object.values(ENTRIES).flatMap(symbolsOf);

/** Names that count as imported, as the pages of the entries say. */
const imports = new Map(
  Object.values(ENTRIES).flatMap((entry) =>
    symbolsOf(entry).map(({ name, runs }) => {
      const module = join(ROOT, entry).replace(/ts$/, 'js');
      return [name, [runs ? name : `type ${name}`, module]] as const;
    }),
  ),
);

/** Names that count as given, as the pages of the entries say. */
const GIVEN = `{ track, csv, log, rig, result, folder }: {
  track: import('${ROOT}src/browser.js').OrientationTrack;
  csv: string;
  log: import('${ROOT}src/browser.js').MotionLog;
  rig: import('${ROOT}src/browser.js').StereoRig;
  result: import('${ROOT}src/browser.js').CorrectionResult;
  folder: string;
}`;

/** Twelve seconds of the walk, with the turn at the water tank, on 60 frames a second. */
function walkTrack(): library.OrientationTrack {
  const frameRate = { numerator: 60, denominator: 1 };
  const times = library.frameTimes(frameRate, 12 * 60 + 1);
  const quaternions = new Float64Array(4 * times.length);
  times.forEach((time, k) => {
    quaternions.set(measuredGreenhouseWalk(START + time), 4 * k);
  });
  return library.createTrack({ times, quaternions, frameRate });
}

/** Second of the walk with which the track begins, and that with which the log begins. */
const [START, LOG_START] = [12, 10];

/** Up and down of the walk at 1.9 steps a second, m/s²: 2.2/(2π · 1.9)² are 1.54 cm. */
const BOUNCE = 2.2;

/** A log of the walk from two seconds before the track until two after it, 200 rows a second. */
function walkLog(): library.MotionLog {
  const n = 16 * 200 + 1;
  const times = Float64Array.from({ length: n }, (_, k) => k / 200);
  const rate = new Float64Array(3 * n);
  const acceleration = new Float64Array(3 * n);
  times.forEach((time, k) => {
    const at = (shift: number) => measuredGreenhouseWalk(LOG_START + time + shift);
    const turn = library.multiplyQuaternions(library.invertQuaternion(at(-2.5e-3)), at(2.5e-3));
    rate.set(
      library.rotationVectorFromQuaternion(turn).map((angle) => 200 * angle),
      3 * k,
    );
    const up = [0, 9.81 + BOUNCE * Math.sin(2 * Math.PI * 1.9 * time), 0] as const;
    acceleration.set(library.rotateVector(library.invertQuaternion(at(0)), up), 3 * k);
  });
  return library.createMotionLog({ times, rate, acceleration });
}

const track = walkTrack();
const rig: library.StereoRig = { ...library.DEFAULT_RIG, readoutMs: 16, mount: 'upright' };
const given = {
  track,
  csv: library.trackToCsv(track),
  log: walkLog(),
  rig,
  result: library.correct(track, { rig }),
};

const examples = symbols.flatMap(({ name, examples }) =>
  examples.map((code, k) => ({ title: examples.length > 1 ? `${name} ${k + 1}` : name, code })),
);

describe('docstrings', () => {
  test('every function, class and constant has an example', () => {
    const bare = symbols.filter(({ runs, examples }) => runs && examples.length === 0);
    expect(bare.map(({ name }) => name)).toEqual([]);
  });

  const modules = new Map(
    examples.map(({ title, code }) => [
      join(ROOT, 'test/docs', `${title.replace(' ', '-')}.example.ts`),
      moduleOf(code, imports, GIVEN),
    ]),
  );

  test('the examples compile strictly', () => {
    expect(Object.fromEntries(complaints(modules, options, program))).toEqual({});
  });

  test.each(examples)('the example of $title gives what it says', async ({ code }) => {
    const imported = { ...library, ...node, ...picture };
    expect(await failuresOf(code, { ...imported, ...given, folder: temporaryFolder() })).toEqual(
      [],
    );
  });
});

describe('an example that is wrong', () => {
  test.each([
    ['0.1 + 0.2; // 0.31', '0.1 + 0.2: 0.31 is written, 0.30000000000000004 comes out'],
    ['[1, 2]; // [1, 2, 3]', '[1, 2]: [1, 2, 3] is written, [1,2] comes out'],
    [
      '({ a: 1, b: 2 }); // { a: 1 }',
      '({ a: 1, b: 2 }): { a: 1 } is written, {"a":1,"b":2} comes out',
    ],
    ["'level'; // 'upright'", "'level': 'upright' is written, \"level\" comes out"],
    ['1 + 1; // two', '1 + 1: "two" is no value'],
    ['if (Math.PI < 3) 1; // 1', '1: never reached'],
    ['const dark = true; // true', 'no value is written'],
  ])('%s is told', async (code, failure) => {
    expect(await failuresOf(code, {})).toEqual([failure]);
  });

  test('with a wrong type is told', () => {
    const module = moduleOf("frameTime('noon', 1); // 0", imports, GIVEN);
    const path = join(ROOT, 'test/docs/wrong.example.ts');
    expect(complaints(new Map([[path, module]]), options, program).get(path)).toMatch(
      /'string' is not assignable to parameter of type 'FrameRate'/,
    );
  });
});

test('values agree to half a unit of the last digit, or to a word', async () => {
  const right = [
    '2 / 3; // 0.667 s',
    '1e-7 / 3; // 3.33e-8 rad',
    '-2; // -2, to the right',
    '1 - 1e-12; // 1',
    'Float64Array.of(0, 1, 2); // [0, 1, …]',
    "({ kind: 'moth', n: 7n }); // { kind: 'moth', … }",
    '7n; // 7n',
    'undefined; // undefined',
  ];
  expect(await failuresOf(right.join('\n'), {})).toEqual([]);
});
