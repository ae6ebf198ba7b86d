import { describe, expect, test } from 'vitest';
import { DEFAULT_RIG, readRig } from '../../src/rig/stereoRig.js';
import { IDENTITY } from '../../src/rotation/quaternion.js';
import { complaint } from '../complaint.js';

const read = (rig: unknown) => readRig(JSON.stringify(rig));

describe('a rig description', () => {
  test('may say nothing: all is assumed, and named', () => {
    expect(read({})).toEqual({
      rig: {
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
      },
      assumed: [
        ...['interaxialMm', 'lens', 'outputFieldDeg', 'mount'],
        ...['eyes.left.alignment', 'eyes.left.readout'],
        ...['eyes.right.alignment', 'eyes.right.readout'],
        ...['readoutMs', 'nearestSubjectM'],
      ],
    });
  });

  test('keeps what it says, and nothing is assumed then', () => {
    const rig = {
      interaxialMm: 60,
      lens: {
        fieldDeg: 200,
        mapping: { law: 'polynomial', coefficients: [0.01, -0.002] },
        boundaryDeg: [100, 98, 100, 95, 100, 98, 100, 95],
      },
      outputFieldDeg: 170,
      mount: 'inverted',
      eyes: {
        left: { alignment: [0, 0, 0, 1], readout: { startMs: -8, firstRow: 'top' } },
        right: { alignment: [0.6, 0, 0, 0.8], readout: { startMs: 1, firstRow: 'bottom' } },
      },
      readoutMs: 16.5,
      nearestSubjectM: 0.7,
    };
    expect(read(rig)).toEqual({ rig, assumed: [] });
  });

  test.each(['equidistant', 'equisolid', 'stereographic', 'orthographic'])(
    'takes the law %s',
    (law) => {
      expect(read({ lens: { mapping: { law } } }).rig.lens.mapping).toEqual({ law });
    },
  );

  test('names what a lens leaves open', () => {
    const { rig, assumed } = read({ lens: {} });
    expect(rig.lens).toEqual(DEFAULT_RIG.lens);
    expect(assumed.filter((name) => name.startsWith('lens'))).toEqual([
      'lens.fieldDeg',
      'lens.mapping',
    ]);
  });

  test('names what an eye leaves open', () => {
    const { rig, assumed } = read({
      eyes: {
        left: { alignment: [0.6, 0, 0, 0.8], readout: { firstRow: 'bottom' } },
        right: { readout: { startMs: 2 } },
      },
    });
    expect(rig.eyes).toEqual({
      left: { alignment: [0.6, 0, 0, 0.8], readout: { startMs: 0, firstRow: 'bottom' } },
      right: { alignment: IDENTITY, readout: { startMs: 2, firstRow: 'top' } },
    });
    expect(assumed.filter((name) => name.startsWith('eyes'))).toEqual([
      'eyes.left.readout.startMs',
      'eyes.right.alignment',
      'eyes.right.readout.firstRow',
    ]);
  });

  test.each([{}, { left: {} }, { right: {} }, { left: {}, right: {} }])(
    'eyes of which %o is said are as those that are left out',
    (eyes) => {
      expect(read({ eyes })).toEqual(read({}));
    },
  );

  test('takes a quaternion of a few digits as the rotation it stands for', () => {
    const { rig } = read({ eyes: { left: { alignment: [0.0087, 0, 0, 0.99996] } } });
    expect(Math.hypot(...rig.eyes.left.alignment)).toBeCloseTo(1, 15);
  });

  test('read once and again is the same to the last bit', () => {
    const q = [0.00434, -0.00347, 0.006109, 0.999966];
    const { rig } = read({
      eyes: { left: { alignment: q }, right: { alignment: [0.1, 0.2, 0.3, 0.9274] } },
    });
    expect(read(rig).rig).toEqual(rig);
  });
});

const [LEFT, RIGHT] = ['"eyes.left.alignment"', '"eyes.right.alignment"'];
const [START, ROW] = ['"eyes.left.readout.startMs"', '"eyes.right.readout.firstRow"'];

describe('an entry that cannot be is refused by its name', () => {
  test.each<[string, unknown, string]>([
    ['"interaxialMm"', { interaxialMm: 0 }, 'found 0, expected a number from 1 to 1000'],
    ['"interaxialMm"', { interaxialMm: '64' }, 'found "64", expected a number'],
    ['"lens"', { lens: 190 }, 'found 190, expected an object'],
    ['"lens.fieldDeg"', { lens: { fieldDeg: 5 } }, 'from 10 to 360'],
    ['"lens.mapping"', { lens: { mapping: 'equidistant' } }, 'expected an object'],
    ['"lens.mapping.law"', { lens: { mapping: {} } }, 'found nothing, expected one of equidistant'],
    ['"lens.mapping.law"', { lens: { mapping: { law: 'flat' } } }, 'found "flat"'],
    [
      '"lens.mapping.coefficients"',
      { lens: { mapping: { law: 'polynomial' } } },
      'found nothing, expected a list of at least 1',
    ],
    [
      '"lens.mapping.coefficients[1]"',
      { lens: { mapping: { law: 'polynomial', coefficients: [0, 11] } } },
      'from -10 to 10',
    ],
    ['"lens.mapping.focal"', { lens: { mapping: { law: 'equisolid', focal: 2 } } }, 'unknown'],
    ['"lens.boundaryDeg"', { lens: { boundaryDeg: [90, 90] } }, 'a list of at least 8'],
    [
      '"lens.boundaryDeg[7]"',
      { lens: { boundaryDeg: [90, 90, 90, 90, 90, 90, 90, 200] } },
      'from 1 to 180',
    ],
    ['"lens.field"', { lens: { field: 190 } }, 'found an unknown entry, expected one of fieldDeg'],
    ['"outputFieldDeg"', { outputFieldDeg: 400 }, 'from 10 to 360'],
    ['"mount"', { mount: 'hanging' }, 'found "hanging", expected one of auto, upright, inverted'],
    ['"eyes"', { eyes: [] }, 'found [], expected an object'],
    ['"eyes.middle"', { eyes: { middle: {} } }, 'an unknown entry, expected one of left, right'],
    ['"eyes.left"', { eyes: { left: null } }, 'found null, expected an object'],
    ['"eyes.right.turn"', { eyes: { right: { turn: 1 } } }, 'expected one of alignment, readout'],
    [LEFT, { eyes: { left: { alignment: {} } } }, 'found {}, expected a list of at least 4'],
    [LEFT, { eyes: { left: { alignment: [0, 0, 1] } } }, 'a list of at least 4'],
    [LEFT, { eyes: { left: { alignment: [0, 0, 0, 0.9] } } }, 'norm 0.9000'],
    [RIGHT, { eyes: { right: { alignment: [0, 0, 0, 1, 0] } } }, 'found 5 numbers'],
    ['"eyes.right.alignment[2]"', { eyes: { right: { alignment: [0, 0, 'z', 1] } } }, 'found "z"'],
    ['"readoutMs"', { readoutMs: -1 }, 'from 0 to 200'],
    ['"eyes.left.readout"', { eyes: { left: { readout: null } } }, 'null, expected an object'],
    [START, { eyes: { left: { readout: { startMs: 101 } } } }, 'from -100 to 100'],
    [ROW, { eyes: { right: { readout: { firstRow: 'left' } } } }, 'one of top, bottom'],
    ['"eyes.right.readout.rows"', { eyes: { right: { readout: { rows: 2 } } } }, 'unknown entry'],
    ['"alignment"', { alignment: { left: [0, 0, 0, 1] } }, '"alignment" in "left" and "right" of'],
    ['"leftReadout"', { leftReadout: { startMs: 1 } }, '"readout" in "left" of "eyes"; move it'],
    ['"rightReadout"', { rightReadout: null, eyes: {} }, '"readout" in "right" of "eyes"; move it'],
    ['"nearestSubjectM"', { nearestSubjectM: 0 }, 'from 0.05 to 10000'],
    ['"baseline"', { baseline: 64 }, 'found an unknown entry, expected one of interaxialMm'],
  ])('%s in %o', (name, rig, words) => {
    expect(() => read(rig)).toThrow(complaint('rig/invalid', `column ${name}: `));
    expect(() => read(rig)).toThrow(complaint('rig/invalid', words));
  });

  test.each([
    ['[]', 'found [], expected an object'],
    ['null', 'found null, expected an object'],
    ['64', 'found 64, expected an object'],
  ])('%s is no rig', (text, words) => {
    expect(() => readRig(text)).toThrow(complaint('rig/invalid', words));
  });

  test.each(['', '{', '{\n  "interaxialMm": sixty\n}'])('%j is no JSON, in one line', (text) => {
    expect(() => readRig(text)).toThrow(complaint('rig/invalid', 'found text that is not JSON'));
    // No entry can be named in it.
    expect(() => readRig(text)).toThrow(/^(?!.*column)/);
    expect(() => readRig(text)).toThrow(/^.*$/);
  });

  test('an orthographic lens sees no more than 180°', () => {
    const lens = { fieldDeg: 190, mapping: { law: 'orthographic' } };
    expect(() => read({ lens })).toThrow(complaint('rig/invalid', 'lens.fieldDeg'));
  });
});

test('nobody can change what is assumed', () => {
  const { lens, eyes } = DEFAULT_RIG;
  const { left, right } = eyes;
  for (const part of [DEFAULT_RIG, lens, lens.mapping, eyes, left, right, left.readout]) {
    expect(Object.isFrozen(part)).toBe(true);
  }
  const assumed = readRig('{}').rig;
  for (const { alignment, readout } of [assumed.eyes.left, assumed.eyes.right]) {
    expect(Object.isFrozen(alignment)).toBe(true);
    expect(Object.isFrozen(readout)).toBe(true);
  }
  for (const part of [assumed.lens, assumed.lens.mapping]) {
    expect(Object.isFrozen(part)).toBe(true);
  }
});
