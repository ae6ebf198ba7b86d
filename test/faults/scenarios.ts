import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { manifestOf, walkCsv } from '../job/walk.js';

/** A call of the command on files of its own. */
export interface Scenario {
  readonly name: string;
  /** Files by their paths. */
  readonly files: Readonly<Record<string, string>>;
  /** Calls that must have been made before, undisturbed. */
  readonly before?: readonly (readonly string[])[];
  readonly args: readonly string[];
  /** The call that completes what was disturbed; the same when left out. */
  readonly again?: readonly string[];
}

/** Seconds of a clip: the shortest that is taken, and a little. */
const SECONDS = 4;

const LOG = `time_s,gx,gy,gz,ax,ay,az\n${Array.from({ length: 401 }, (_, k) => {
  const t = k / 100;
  return `${t},${0.24 * Math.cos(12 * t)},0.1,0,0,9.81,0`;
}).join('\n')}\n`;

const WALK = { 'walk.csv': walkCsv(SECONDS) };
const SHOOT = {
  ...{ 'take-0.csv': walkCsv(SECONDS, 0), 'take-1.csv': walkCsv(SECONDS, 1) },
  'shoot.json': manifestOf([{ file: 'take-0.csv' }, { file: 'take-1.csv' }], { rate: '25' }),
};
const CORRECT = ['correct', 'walk.csv', '--rate', '25', '--out', 'out'];
const SHARES = [1, 2].map((k) => ['correct', 'shoot.json', '--out', 'out', '--shard', `${k}/2`]);
const MERGE = [
  'merge',
  ...[1, 2].map((k) => `out/shoot.summary.${k}-of-2.json`),
  '--out',
  'out/shoot.summary.json',
];
const REPORT = ['report', 'out/walk.result.json', '--out', 'out/page.html'];
const HANDOFF = [
  ...['handoff', 'out/walk.result.json', '--to', 'csv,json,gltf,tum,usda,ffmpeg,st-maps'],
  ...['--size', '8x8', '--frames', '0,50', '--out', 'handed'],
];
const forced = (args: readonly string[]) => [...args, '--force'];

/** Every call that reads and writes. */
export const SCENARIOS: readonly Scenario[] = [
  { name: 'correct', files: WALK, args: CORRECT, again: forced(CORRECT) },
  {
    name: 'correct over other results',
    files: WALK,
    before: [[...CORRECT, '--level', '0.5']],
    args: forced(CORRECT),
  },
  {
    name: 'manifest',
    files: SHOOT,
    args: ['correct', 'shoot.json', '--out', 'out', '--jobs', '1'],
  },
  {
    name: 'manifest that was finished',
    files: SHOOT,
    before: [['correct', 'shoot.json', '--out', 'out', '--jobs', '1']],
    args: ['correct', 'shoot.json', '--out', 'out', '--jobs', '1'],
  },
  { name: 'merge', files: SHOOT, before: SHARES, args: MERGE, again: forced(MERGE) },
  { name: 'report', files: WALK, before: [CORRECT], args: REPORT, again: forced(REPORT) },
  { name: 'handoff', files: WALK, before: [CORRECT], args: HANDOFF, again: forced(HANDOFF) },
  {
    name: 'orient',
    files: { 'gyro.csv': LOG },
    args: ['orient', 'gyro.csv', '--out', 'out'],
    again: ['orient', 'gyro.csv', '--out', 'out', '--force'],
  },
];

/** Writes a scenario's files into a folder. */
export function lay(folder: string, { files }: Scenario): void {
  for (const [name, text] of Object.entries(files)) {
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    writeFileSync(join(folder, name), text);
  }
}
