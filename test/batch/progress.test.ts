import { describe, expect, test } from 'vitest';
import { endTable, nextSteps } from '../../src/batch/endTable.js';
import { progressLine, timeWords } from '../../src/batch/progress.js';
import { shellWord } from '../../src/batch/shellWord.js';

describe('one line of progress', () => {
  const state = { done: 3, total: 12, worked: 2, seconds: 40, name: 'aisle', kept: false };

  test('the time left is that of the mean clip that took work, for every clip that is left', () => {
    // Two clips in 40 s, nine to go: 180 s.
    expect(progressLine(state)).toBe('3/12 clips, about 3 min left: aisle');
  });

  test('kept clips say nothing about the time, and are named so', () => {
    expect(progressLine({ ...state, worked: 0, kept: true })).toBe(
      '3/12 clips: aisle (done before)',
    );
  });

  test('at the end nothing is left', () => {
    expect(progressLine({ ...state, done: 12, worked: 11 })).toBe('12/12 clips: aisle');
  });

  test('a name does not command the terminal', () => {
    expect(progressLine({ ...state, name: 'a\u001b[2Jb' })).toContain('a\\u001b[2Jb');
  });

  test.each([
    [0, 'about 1 s'],
    [89, 'about 89 s'],
    [90, 'about 2 min'],
    [5399, 'about 90 min'],
    [5400, 'about 1.5 h'],
  ])('%d s are %s', (seconds, words) => {
    expect(timeWords(seconds)).toBe(words);
  });
});

describe('the table at the end', () => {
  const fates = [
    { name: 'aisle', state: 'done', verdict: 'deliver', reasons: [] },
    { name: 'tank', state: 'failed', message: 'tank.csv: found nothing.\n  time: …' },
  ] as const;

  test('has a row for every clip, and one sentence for one that failed', () => {
    expect(endTable(fates)).toEqual([
      'clip   state   verdict            weightiest reason',
      'aisle  done    deliver            –',
      'tank   failed  –                  tank.csv: found nothing.',
      '2 clips: 1 done, 0 kept (done before), 1 failed',
    ]);
  });

  test('the next command is one that a shell takes as it stands', () => {
    expect(nextSteps([fates[0]], 'my out/')).toEqual([
      "next: twinkeel report 'my out'/*.result.json --out 'my out'/report.html",
    ]);
    expect(nextSteps([fates[1]], 'out')).toEqual([
      'next: mend what failed and make the same call again; what is done is kept',
    ]);
    expect(nextSteps([fates[0]], 'out', { count: 4 })).toEqual([
      'next, when all shares are done: twinkeel merge out/shoot.summary.*-of-4.json --out out/shoot.summary.json',
    ]);
    expect(shellWord("it's $HOME")).toBe("'it'\\''s $HOME'");
    expect(shellWord('-x')).toBe("'-x'");
    expect(shellWord('größe/2.json')).toBe('größe/2.json');
  });
});
