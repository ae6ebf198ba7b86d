/** Results follow the JSON Schema that is published for them (draft 2020-12). */
import { readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { expect, test } from 'vitest';
import { makeWalk } from '../../bench/accuracy/walks.js';
import { correct, createTrack, toJson } from '../../src/index.js';

const schema = JSON.parse(
  readFileSync(new URL('../../docs/schema/result.schema.json', import.meta.url), 'utf8'),
);

test('a result follows the published schema, and a changed one does not', () => {
  const validate = new Ajv2020().compile(schema);
  const walk = makeWalk('heading', 3, { duration: 6 });
  const track = createTrack({
    times: walk.times,
    quaternions: walk.measured,
    frameRate: { numerator: 60000, denominator: 1001 },
    startNs: 5n,
  });
  const result = JSON.parse(toJson(correct(track)));
  expect(validate(result), JSON.stringify(validate.errors)).toBe(true);
  expect(validate({ ...result, shot: 'crane' })).toBe(false);
  expect(validate({ ...result, version: 2 })).toBe(false);
});
