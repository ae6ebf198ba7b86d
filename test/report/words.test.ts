import { describe, expect, test } from 'vitest';
import type { Stretch } from '../../src/comfort/stretches.js';
import type { Reason } from '../../src/comfort/verdict.js';
import { clockTime } from '../../src/readable.js';
import { dayTotals } from '../../src/report/dayTotals.js';
import { addressesOf } from '../../src/report/page/routes.js';
import {
  amount,
  byWeight,
  minutes,
  number,
  sentenceOf,
  threshold,
} from '../../src/report/stretchWords.js';

const usable = (from: number, to: number): Stretch => ({
  ...{ fromFrame: 60 * from, toFrame: 60 * to - 1, fromSeconds: from, toSeconds: to },
  verdict: 'usable',
});
const shaken = (
  from: number,
  to: number,
  value: number,
  verdict: 'with care' | 'not usable',
): Stretch => ({
  ...usable(from, to),
  verdict,
  because: {
    cause: 'operator',
    figure: 'tremor (3–12 Hz)',
    value,
    unit: '°/s',
    threshold: verdict === 'with care' ? 1.5 : 6,
    source: 'our judgement',
    nextTime: 'hold the rig with both hands',
  },
});

describe('numbers as they are set in print', () => {
  test.each([
    [-3.21, '°', '−3.2°'],
    [0.004, '°', '0.00°'],
    [-0.001, '°', '0.00°'],
    [0.34, '°/s', '0.34\u00a0°/s'],
    [21.06, '°/s', '21.1\u00a0°/s'],
    [6369.2, '°/s³', '6369\u00a0°/s³'],
  ])('%d %s is %s', (value, unit, text) => {
    expect(amount(value, unit)).toBe(text);
  });

  test('the minus is as wide as a plus, and nothing has none', () => {
    expect([number(-1.5, 1), number(-0.04, 1)]).toEqual(['−1.5', '0.0']);
    expect(threshold(30, '°/s')).toBe('30\u00a0°/s');
  });

  test.each([
    [0, '0:00.0'],
    [59.96, '1:00.0'],
    [754.33, '12:34.3'],
  ])('%d s is %s', (seconds, text) => {
    expect(clockTime(seconds)).toBe(text);
  });

  test('sums are minutes and whole seconds', () => {
    expect([minutes(0), minutes(59.6), minutes(3725)]).toEqual(['0:00', '1:00', '62:05']);
  });
});

describe('a clip in one sentence', () => {
  const reason: Reason = {
    figure: 'step bob, after correction',
    value: 0.91,
    unit: '°',
    threshold: 0.8,
    level: 'reshoot',
    source: 'our judgement',
    cause: 'operator',
    nextTime: 'a wider lens',
  };

  test('tells the weightiest stretch: when, what, how much, whose doing', () => {
    const stretches = [
      shaken(0, 2, 5, 'with care'),
      usable(2, 4),
      shaken(4, 5.5, 7, 'not usable'),
      shaken(5.5, 6, 9, 'not usable'),
    ];
    expect(sentenceOf({ stretches, reasons: [], verdict: 'reshoot' })).toBe(
      '0:05.5–0:06.0: tremor 9.0\u00a0°/s, caused by the operator.',
    );
    expect(byWeight(stretches).map(({ fromSeconds }) => fromSeconds)).toEqual([5.5, 4, 0]);
  });

  test('says throughout where there is but one stretch', () => {
    const stretches = [shaken(0, 9, 2, 'with care')];
    expect(sentenceOf({ stretches, reasons: [], verdict: 'deliver with care' })).toMatch(
      /^Throughout: tremor 2\.0/,
    );
  });

  test('names what condemns the whole where no stretch is condemned', () => {
    const stretches = [shaken(0, 9, 2, 'with care')];
    expect(sentenceOf({ stretches, reasons: [reason], verdict: 'reshoot' })).toBe(
      'The clip as a whole, step bob, after correction: 0.91°.',
    );
  });

  test('a clip without fault is usable from end to end', () => {
    expect(sentenceOf({ stretches: [usable(0, 9)], reasons: [], verdict: 'deliver' })).toBe(
      'Usable from end to end.',
    );
  });
});

test('the day counts clips by verdict, seconds by stretch, and what was not read', () => {
  const totals = dayTotals([
    { name: 'a', verdict: 'deliver', stretches: [usable(0, 10)] },
    { name: 'b', failed: 'b.csv: found nothing, expected rows; track it again.' },
    { name: 'c', verdict: 'reshoot', stretches: [usable(0, 3), shaken(3, 8, 9, 'not usable')] },
  ]);
  expect(totals).toEqual({
    ...{ clips: 3, unread: 1 },
    verdicts: { deliver: 1, 'deliver with care': 0, reshoot: 1 },
    seconds: { usable: 13, 'with care': 0, 'not usable': 5 },
  });
});

test('every clip has an address of its own, whatever its name', () => {
  const names = ['aisle', 'aisle', 'a b#c', '\ud800', '', 'aisle~2'];
  const addresses = addressesOf(names);
  expect(addresses.slice(0, 3)).toEqual(['aisle', 'aisle~2', 'a%20b%23c']);
  expect(new Set(addresses).size).toBe(names.length);
  for (const address of addresses) expect(address).toMatch(/^[\w%.~-]+$/);
});
