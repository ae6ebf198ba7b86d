import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { toJson } from '../../src/handoff/json.js';
import type { PageData } from '../../src/report/pageData.js';
import { CLI } from '../command.js';
import { pageMissing } from './browser.js';
import { resultOf } from './clips.js';

/** The command's page is built or it is not; no browser is needed here. */
const missing = pageMissing?.includes('not built') ? pageMissing : '';

describe.skipIf(missing !== '')(`the summary of a shoot as what is reported${missing}`, () => {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  const place = (name: string) => join(folder, name);
  const result = resultOf({});
  const done = (name: string, at: number) => ({
    ...{ name, file: `${name}.csv`, place: at, ok: true, verdict: result.verdict },
    ...{ reasons: result.reasons, shot: result.shot, confidence: 1, inputs: 'a', outputs: {} },
  });
  const sentence = 'vines.csv: found 1.2 s of track, expected 3 s or more; track more of the take.';
  const clips = [
    done('pond', 0),
    {
      ...{ name: 'vines', file: 'vines.csv', place: 1, ok: false },
      code: 'track/too-short',
      message: sentence,
    },
    done('aisle', 2),
    done('gone', 3),
  ];
  const summary = (some: readonly object[]) =>
    `${JSON.stringify({ format: 'twinkeel-shoot-summary', version: 1, manifest: 'a', clipCount: some.length, clips: some }, null, 1)}\n`;
  beforeAll(() => {
    for (const name of ['pond', 'aisle'])
      writeFileSync(place(`${name}.result.json`), toJson(result));
    writeFileSync(place('shoot.summary.json'), summary(clips));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  const report = (...words: readonly string[]) =>
    spawnSync(process.execPath, [CLI, 'report', ...words], { cwd: folder, encoding: 'utf8' });
  const dataOf = (page: string): PageData =>
    JSON.parse(/id="clips">(.*?)<\/script>/s.exec(readFileSync(place(page), 'utf8'))![1]!);

  test('gives every clip in the order of the shoot, failed ones with their sentence', () => {
    const { status, stdout, stderr } = report('shoot.summary.json', '--out', 'day.html');
    expect(status).toBe(1);
    expect(stderr).toContain(`twinkeel: ${sentence}\n`);
    expect(stdout).toContain('not read: vines, gone (see the messages)');
    const told = dataOf('day.html').clips;
    expect(told.map(({ name }) => name)).toEqual(['pond', 'vines', 'aisle', 'gone']);
    expect(told[1]).toEqual({ name: 'vines', failed: sentence });
    // A result that should lie beside the summary and does not is a clip that was not read.
    expect(told[3]).toEqual({ name: 'gone', failed: expect.stringContaining('gone.result.json') });
    expect(told[0]).toMatchObject({ verdict: result.verdict, stretches: result.stretches });
  });

  test('says the same for machines, one entry a clip', () => {
    const { stdout } = report('shoot.summary.json', '--out', 'json.html', '--json');
    const entries = JSON.parse(stdout) as { file: string; ok: boolean; code?: string }[];
    expect(entries.map(({ ok, code }) => [ok, code])).toEqual([
      [true, undefined],
      [false, 'track/too-short'],
      [true, undefined],
      [false, 'file/missing'],
    ]);
  });

  test('goes well where every clip did, and takes results beside it', () => {
    writeFileSync(place('good.summary.json'), summary([done('aisle', 0)]));
    const { status, stderr } = report(
      'good.summary.json',
      'pond.result.json',
      '--out',
      'good.html',
    );
    expect([status, stderr]).toEqual([0, '']);
    expect(dataOf('good.html').clips.map(({ name }) => name)).toEqual(['aisle', 'pond']);
  });

  test('a broken summary is named, and writes nothing when nothing else is there', () => {
    writeFileSync(place('bad.summary.json'), '{"format": "twinkeel-shoot-summary", "version": 9}');
    const { status, stderr } = report('bad.summary.json', '--out', 'bad.html');
    expect(status).toBe(1);
    expect(stderr).toMatch(/^twinkeel: bad\.summary\.json: .*expected a summary/);
    expect(() => readFileSync(place('bad.html'))).toThrow();
  });

  test('a page never replaces a result that a summary names', () => {
    writeFileSync(place('odd.result.json'), toJson(result));
    const named = summary([{ ...done('odd', 0) }]);
    writeFileSync(place('odd.summary.html'), named);
    const { status, stderr } = report('odd.summary.html', '--out', 'odd.summary.html', '--force');
    expect(status).not.toBe(0);
    expect(stderr).toContain('inputs are never written over');
    expect(readFileSync(place('odd.summary.html'), 'utf8')).toBe(named);
  });
});
