/** Results follow the JSON Schema that is published for them (draft 2020-12). */
import { readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { expect, test } from 'vitest';
import { makeWalk } from '../../bench/accuracy/walks.js';
import { correct, createTrack, DEFAULT_RIG, readRig, toJson } from '../../src/browser.js';

function published(name: string) {
  return JSON.parse(readFileSync(new URL(`../../docs/schema/${name}`, import.meta.url), 'utf8'));
}

function validator(name: string) {
  return new Ajv2020({ schemas: [published('rig.schema.json')] }).compile(published(name));
}

test('a result follows the published schema, and a changed one does not', () => {
  const validate = validator('result.schema.json');
  const walk = makeWalk('heading', 3, { duration: 6 });
  const track = createTrack({
    times: walk.times,
    quaternions: walk.measured,
    frameRate: { numerator: 60000, denominator: 1001 },
    startNs: 5n,
  });
  const result = JSON.parse(toJson(correct(track, { rig: DEFAULT_RIG })));
  expect(validate(result), JSON.stringify(validate.errors)).toBe(true);
  expect(validate({ ...result, shot: 'crane' })).toBe(false);
  expect(validate({ ...result, version: 2 })).toBe(false);
});

test('what the schema of rigs takes is read, and what it refuses is refused', () => {
  const validate = new Ajv2020().compile(published('rig.schema.json'));
  const good = [
    ...[{}, DEFAULT_RIG, { lens: { fieldDeg: 200 }, readoutMs: 16 }],
    { eyes: { left: { alignment: [0, 0, 0, 1] }, right: { readout: { firstRow: 'bottom' } } } },
  ];
  const bad = [
    ...[{ interaxialMM: 64 }, { mount: 'sideways' }, { readoutMs: -1 }, { lens: 190 }],
    ...[{ eyes: { middle: {} } }, { eyes: { left: { turn: [0, 0, 0, 1] } } }],
    ...[{ eyes: { right: { readout: { startMs: 101 } } } }, { leftReadout: { startMs: 1 } }],
  ];
  for (const rig of good) {
    expect(validate(rig)).toBe(true);
    expect(() => readRig(JSON.stringify(rig))).not.toThrow();
  }
  for (const rig of bad) {
    expect(validate(rig)).toBe(false);
    expect(() => readRig(JSON.stringify(rig))).toThrow();
  }
});
