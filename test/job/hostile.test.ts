/** Input that means harm or went wrong: one clear sentence, exit code 1 or 2, nothing half-written. */
import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import {
  chmodSync,
  closeSync,
  existsSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  readlinkSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { basename, join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { describe, expect, onTestFinished, test } from 'vitest';
import { newMark, partialBeside } from '../../src/files/partials.js';
import { writeFiles } from '../../src/files/writeFiles.js';
import { temporaryFolder } from '../temporaryFolder.js';
import { CLI, manifestOf, twinkeel, walkCsv } from './shootFolder.js';

const ROOT_USER = process.getuid?.() === 0;
const WALK = walkCsv(6);
const LINES = WALK.split('\n');

/** The walk with one line, counted from 1, written anew. */
const withLine = (line: number, text: string) =>
  LINES.map((own, k) => (k === line - 1 ? text : own)).join('\n');

/** The walk's header with other words, and its rows. */
const withHeader = (header: string) => withLine(1, header);

/** A JSON list in a list in a list. */
const DEEP = '['.repeat(100_000) + ']'.repeat(100_000);

const QUATERNION = 'quaternion: x "x" y "y" z "z" w "w" sense camera-to-world\n';

/** What stands on standard error, a sentence or one with the words of a mapping behind it. */
const COMPLAINT = /^twinkeel: [^\n]+: found [^\n]+, expected [^\n]+; [^\n]+/;

interface Call {
  readonly content: string | Uint8Array;
  /** Options, and what the files hold that they name. */
  readonly args?: readonly string[];
  readonly files?: Readonly<Record<string, string | Uint8Array>>;
  readonly name?: string;
}

function call({ content, args = [], files = {}, name = 'walk.csv' }: Call) {
  const folder = temporaryFolder();
  for (const [path, text] of Object.entries({ ...files, [name]: content })) {
    writeFileSync(join(folder, path), text);
  }
  const run = twinkeel(folder, 'correct', name, '--out', 'out', ...args);
  return { ...run, folder, written: existsSync(join(folder, 'out')) };
}

describe('refused in a sentence, with nothing written', () => {
  const mapped = (time: string, words = QUATERNION) => ({
    args: ['--mapping', 'how.txt'],
    files: { 'how.txt': `${time}\n${words}` },
  });
  const frames = (last: string) => {
    const rows = LINES.slice(1, -1).map((line, k, all) =>
      line.replace(/^[^,]*/, k === all.length - 1 ? last : String(k)),
    );
    return `frame,x,y,z,w\n${rows.join('\n')}\n`;
  };

  test.each<[string, Call, string]>([
    [
      'a column "__proto__"',
      { content: withHeader('__proto__,x,y,z,w') },
      'found the columns "__proto__"',
    ],
    [
      'a mapping of "__proto__"',
      { content: WALK, ...mapped('time: column "__proto__" unit s') },
      'found ',
    ],
    [
      'a mapping of "constructor"',
      { content: WALK, ...mapped('time: column "constructor" unit s') },
      'found ',
    ],
    [
      'a formula in a cell',
      { content: withLine(5, '0.12,=1+1,0,0,1') },
      'column "x": found "=1+1"',
    ],
    [
      'an @ in a cell',
      { content: withLine(5, '0.12,@SUM(1),0,0,1') },
      'column "x": found "@SUM(1)"',
    ],
    [
      'a formula as a column',
      { content: withHeader('=cmd|x,x,y,z,w') },
      'found the columns "=cmd|x"',
    ],
    ['infinity', { content: withLine(5, '0.12,Infinity,0,0,1') }, 'column "x": found "Infinity"'],
    ['minus infinity', { content: withLine(5, '0.12,-inf,0,0,1') }, 'column "x": found "-inf"'],
    ['beyond doubles', { content: withLine(5, '0.12,1e999,0,0,1') }, 'column "x": found "1e999"'],
    [
      'a quaternion of denormals',
      { content: withLine(5, '0.12,5e-324,5e-324,0,5e-324') },
      'row 5: found a quaternion of norm 0',
    ],
    [
      'a quaternion whose square overflows',
      { content: withLine(5, '0.12,1e200,1e200,0,0') },
      'row 5: found the quaternion',
    ],
    ['a time of 1e300 s', { content: withLine(152, '1e300,0,0,0,1') }, '1e+300 s without a sample'],
    [
      'a time of 1e15 s with a rate',
      { content: withLine(152, '1e15,0,0,0,1'), args: ['--rate', '25'] },
      's without a sample',
    ],
    [
      'column number 1e9',
      { content: WALK, ...mapped('time: column 1000000000 unit s') },
      'column 1000000000',
    ],
    [
      'frame number 1e15',
      { content: frames('1000000000000000'), ...mapped('time: column "frame" frames at 25') },
      'found ',
    ],
    [
      'frame number 2^53 + 1',
      { content: frames('9007199254740993'), ...mapped('time: column "frame" frames at 25') },
      'found ',
    ],
    [
      'broken UTF-8 in a cell',
      { content: Buffer.from(WALK.replace('0.120000000', '0.12\xff\xfe'), 'latin1') },
      'row 5, column "time_s": found',
    ],
    [
      'broken UTF-8 in the header',
      { content: Buffer.from(withHeader('ti\xff\xc3me_s,x,y,z,w'), 'latin1') },
      'found the columns',
    ],
    [
      'half a character at the end',
      { content: Buffer.concat([Buffer.from(WALK), Buffer.of(0xe2, 0x82)]) },
      'row 153',
    ],
    ['a NUL near the start', { content: WALK.replace('0.04', '0.\0') }, 'found binary data'],
    ['a NUL near the end', { content: withLine(150, '5.92,0,0,\0,1') }, 'found binary data'],
    [
      'a lone quote',
      { content: withLine(5, '0.12,"0,0,0,1') },
      'row 5: found a quote that is never closed',
    ],
    ['deep lists as the clip', { content: DEEP, name: 'walk.json' }, 'nest more than 100 deep'],
    ['deep lists in a sample', { content: `[{"t":${DEEP}}]`, name: 'walk.json' }, 'found '],
    [
      'deep objects',
      { content: '{"a":'.repeat(1e5) + 1 + '}'.repeat(1e5), name: 'walk.json' },
      'nest more than 100 deep',
    ],
    ['deep lists as poses', { content: `[${DEEP}]`, args: ['--format', 'opentrackio'] }, 'found '],
    [
      'a manifest of deep lists',
      { content: `{"format":"twinkeel-shoot","version":1,"clips":${DEEP}}`, name: 'shoot.json' },
      'nest more than 100 deep',
    ],
    [
      'bytes as a mapping',
      {
        content: WALK,
        args: ['--mapping', 'b'],
        files: { b: Uint8Array.from({ length: 999 }, (_, k) => k) },
      },
      'b, row 1: found',
    ],
    [
      'bytes as earlier corrections',
      { content: WALK, args: ['--earlier', 'b'], files: { b: Uint8Array.of(31, 139, 0) } },
      'b: found binary data',
    ],
    [
      'a rig with "__proto__"',
      { content: WALK, args: ['--rig', 'r'], files: { r: '{"__proto__":{"readoutMs":1}}' } },
      'column "__proto__": found an unknown entry',
    ],
    [
      'a rig beyond doubles',
      { content: WALK, args: ['--rig', 'r'], files: { r: '{"interaxialMm":1e999}' } },
      'column "interaxialMm": found',
    ],
  ])('%s', (_, input, found) => {
    const { status, stdout, stderr, written } = call(input);
    expect(stderr).toMatch(COMPLAINT);
    expect(stderr).not.toMatch(/\n +at /);
    expect(stderr).toContain(found);
    expect([1, 2]).toContain(status);
    expect({ stdout, written }).toEqual({ stdout: '', written: false });
  });

  test('one component that is a denormal is a number like any other', () => {
    const { status, folder } = call({ content: withLine(5, '0.12,4.9e-324,0,0,1') });
    expect(status).toBe(0);
    const text = readFileSync(join(folder, 'out', 'walk.result.json'), 'utf8');
    expect(text).not.toMatch(/NaN|null/);
  });

  // A JSON writer that fails on depth must not end in the trace of a stack.
  test('brackets that never close take no more memory than their file', () => {
    const { status, stderr } = call({ content: '['.repeat(2 ** 24), name: 'walk.json' });
    expect({ status, stderr }).toMatchObject({
      status: 1,
      stderr: expect.stringContaining('nest more than 100 deep'),
    });
  });

  test('a rig of deep lists', () => {
    const { stderr } = call({ content: WALK, args: ['--rig', 'r'], files: { r: DEEP } });
    expect(stderr).toMatch(COMPLAINT);
  });

  test('a mapping of one line of 32 MiB', () => {
    const how = 'time'.repeat(2 ** 23);
    const { stderr } = call({ content: WALK, args: ['--mapping', 'how'], files: { how } });
    expect(stderr).toMatch(COMPLAINT);
    // What is shown of it fits a few lines of a terminal.
    expect(stderr.length).toBeLessThan(2000);
  });

  // ECMA-48: ESC begins what moves the cursor, colours or renames the window; messages show none.
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what it is about
  const COMMANDS = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/;
  const ESCAPE = '\u001b]0;x\u0007\u001b[2J';

  test('characters of a cell that command a terminal are not passed on', () => {
    const { stderr } = call({ content: withLine(5, `0.12,${ESCAPE},0,0,1`) });
    expect(stderr).toContain('row 5');
    expect(stderr).not.toMatch(COMMANDS);
  });

  test('nor those of a mapping', () => {
    const { stderr } = call({ content: WALK, args: ['--mapping', 'how'], files: { how: ESCAPE } });
    expect(stderr).not.toMatch(COMMANDS);
  });

  test('nor those of a path in a manifest', () => {
    const clips = [{ file: `night${ESCAPE}.csv`, name: 'night' }];
    const { stderr } = call({ content: manifestOf(clips), name: 'shoot.json' });
    expect(stderr).not.toMatch(COMMANDS);
  });
});

describe('a file that is large for nothing takes little memory', () => {
  /** Largest resident memory of a run, MiB, as Node's own accounts tell. */
  function peak(folder: string, ...args: readonly string[]) {
    const wrapper = `
      process.on('exit', () => require('fs').writeFileSync('rss', String(process.resourceUsage().maxRSS / 1024)));
      process.argv.splice(1, 0, ${JSON.stringify(CLI)});
      import(${JSON.stringify(CLI)});`;
    const { status, stderr } = spawnSync(process.execPath, ['-e', wrapper, ...args], {
      cwd: folder,
      encoding: 'utf8',
      timeout: 60_000,
    });
    return { status, stderr, mib: Number(readFileSync(join(folder, 'rss'), 'utf8')) };
  }

  /** Room for what reads: pieces of 1 MiB, a line of up to 1 MiB, and their copies. */
  const ROOM = 48;
  const SIZE = 256 * 2 ** 20;

  /** Memory of a run that reads next to nothing. */
  function least(): number {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'walk.csv'), '');
    return peak(folder, 'correct', 'walk.csv', '--out', 'out').mib;
  }

  /** Writes the same megabyte again and again behind some first bytes. */
  function large(path: string, start: string, byte: string): void {
    const file = openSync(path, 'w');
    writeSync(file, start);
    const piece = Buffer.alloc(2 ** 20, byte);
    for (let k = 0; k < SIZE / 2 ** 20; k++) writeSync(file, piece);
    closeSync(file);
  }

  test.each([
    ['a sparse file of NULs', undefined, '', 'found binary data'],
    ['one line of digits', '', '1', 'row 1: found a line of more than 1 MiB'],
    ['a line of digits behind good rows', WALK, '1', 'row 153: found a line of more than 1 MiB'],
    ['a quote that stays open', `${WALK}"`, 'x', 'found '],
    ['one line of separators', '', ',', 'row 1: found a line of more than 1 MiB'],
    ['blanks', `${WALK}`, ' ', 'found a line of more than 1 MiB'],
  ])('%s of 256 MiB', (_, start, byte, found) => {
    const folder = temporaryFolder();
    const path = join(folder, 'walk.csv');
    if (start === undefined) {
      writeFileSync(path, '');
      truncateSync(path, SIZE);
    } else large(path, start, byte);
    const { status, stderr, mib } = peak(folder, 'correct', 'walk.csv', '--out', 'out');
    expect(status).toBe(1);
    expect(stderr).toMatch(COMPLAINT);
    expect(stderr).toContain(found);
    expect(mib).toBeLessThan(least() + ROOM);
  });
});

describe('what is no ordinary file', () => {
  test('a pipe with somebody at its other end is read, also where it is named like a manifest', async () => {
    for (const name of ['pipe.csv', 'pipe.json']) {
      const folder = temporaryFolder();
      spawnSync('mkfifo', [join(folder, name)]);
      const child = spawn(process.execPath, [CLI, 'correct', name, '--out', 'out'], {
        cwd: folder,
      });
      onTestFinished(() => void child.kill('SIGKILL'));
      const closed = once(child, 'close');
      const feeder = spawn('sh', ['-c', `cat > ${name}`], { cwd: folder });
      onTestFinished(() => void feeder.kill('SIGKILL'));
      feeder.stdin.end(WALK);
      expect((await closed)[0]).toBe(0);
      expect(readdirSync(join(folder, 'out'))).toHaveLength(2);
    }
  });

  test('waiting for a pipe, the command can be stopped', async () => {
    const folder = temporaryFolder();
    spawnSync('mkfifo', [join(folder, 'pipe.csv')]);
    const child = spawn(process.execPath, [CLI, 'correct', 'pipe.csv', '--out', 'out'], {
      cwd: folder,
    });
    onTestFinished(() => void child.kill('SIGKILL'));
    await sleep(500);
    child.kill('SIGINT');
    const [, signal] = await once(child, 'close');
    expect(signal).toBe('SIGINT');
    expect(existsSync(join(folder, 'out'))).toBe(false);
  });

  test.each([
    ['a folder', (path: string) => void mkdirSync(path), 'found a folder'],
    ['a link to itself', (path: string) => symlinkSync('walk.csv', path), '(ELOOP)'],
    ['a link to nothing', (path: string) => symlinkSync('none.csv', path), 'found no such file'],
  ])('%s is refused', (_, make, found) => {
    const folder = temporaryFolder();
    make(join(folder, 'walk.csv'));
    const { status, stderr } = twinkeel(folder, 'correct', 'walk.csv', '--out', 'out');
    expect({ status, stderr }).toMatchObject({
      status: 1,
      stderr: expect.stringMatching(COMPLAINT),
    });
    expect(stderr).toContain(found);
    expect(readdirSync(folder)).toEqual(['walk.csv']);
  });

  test.skipIf(ROOT_USER)('a file without permission is refused (root reads everything)', () => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'walk.csv'), WALK);
    chmodSync(join(folder, 'walk.csv'), 0o000);
    const { status, stderr } = twinkeel(folder, 'correct', 'walk.csv', '--out', 'out');
    expect({ status, stderr }).toMatchObject({
      status: 1,
      stderr: expect.stringContaining('(EACCES)'),
    });
  });

  test('a clip reached by a link is read', () => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'night.csv'), WALK);
    symlinkSync('night.csv', join(folder, 'walk.csv'));
    expect(twinkeel(folder, 'correct', 'walk.csv', '--out', 'out').status).toBe(0);
  });
});

describe('where results go', () => {
  function folderWithWalk(): string {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'walk.csv'), WALK);
    mkdirSync(join(folder, 'out'));
    return folder;
  }
  const RUN = ['correct', 'walk.csv', '--out', 'out'];

  test('a link to the input is not written through, with --force either', () => {
    const folder = folderWithWalk();
    symlinkSync('../walk.csv', join(folder, 'out', 'walk.corrections.csv'));
    for (const more of [[], ['--force']]) {
      const { status, stderr } = twinkeel(folder, ...RUN, ...more);
      expect(status).toBe(1);
      expect(stderr).toMatch(COMPLAINT);
      expect(readFileSync(join(folder, 'walk.csv'), 'utf8')).toBe(WALK);
      expect(readdirSync(join(folder, 'out'))).toEqual(['walk.corrections.csv']);
    }
  });

  test('a link to another file is replaced with --force, and what it points at stays', () => {
    const folder = folderWithWalk();
    const link = join(folder, 'out', 'walk.result.json');
    writeFileSync(join(folder, 'diary'), 'bloom');
    symlinkSync('../diary', link);
    expect(twinkeel(folder, ...RUN).status).toBe(1);
    expect(readlinkSync(link)).toBe('../diary');
    expect(twinkeel(folder, ...RUN, '--force').status).toBe(0);
    expect(readFileSync(join(folder, 'diary'), 'utf8')).toBe('bloom');
    expect(readFileSync(link, 'utf8')).toMatch(/^\{"format":"twinkeel-result"/);
  });

  test('a folder that is a file, or a device, is refused', () => {
    for (const args of [RUN, ['correct', 'shoot.json', '--out', 'out']]) {
      const folder = temporaryFolder();
      writeFileSync(join(folder, 'walk.csv'), WALK);
      const manifest = { format: 'twinkeel-shoot', version: 1, clips: [{ file: 'walk.csv' }] };
      writeFileSync(join(folder, 'shoot.json'), JSON.stringify(manifest));
      writeFileSync(join(folder, 'out'), 'bloom');
      const { status, stderr } = twinkeel(folder, ...args);
      expect([1, 2]).toContain(status);
      expect(stderr).toMatch(COMPLAINT);
      expect(stderr).toContain('expected a writable folder');
      expect(readFileSync(join(folder, 'out'), 'utf8')).toBe('bloom');
    }
  });

  /** Mounts a disk of so many bytes, or says that it cannot. */
  function smallDisk(folder: string, bytes: number): boolean {
    const { status } = spawnSync('mount', ['-t', 'tmpfs', '-o', `size=${bytes}`, 'tmpfs', folder]);
    if (status === 0) onTestFinished(() => void spawnSync('umount', [folder]));
    return status === 0;
  }

  test('a full disk: nothing is left, neither of a clip nor of a shoot', ({ skip }) => {
    const folder = folderWithWalk();
    const out = join(folder, 'out');
    // Room for the corrections, some 11 KB, and not for the result beside them.
    if (!smallDisk(out, 16_384)) skip('no small disk can be mounted here (it takes root)');
    const manifest = { format: 'twinkeel-shoot', version: 1, clips: [{ file: 'walk.csv' }] };
    writeFileSync(join(folder, 'shoot.json'), JSON.stringify(manifest));
    for (const file of ['walk.csv', 'shoot.json']) {
      const { status, stderr } = twinkeel(folder, 'correct', file, '--out', 'out');
      expect(status).toBe(1);
      expect(stderr).toMatch(COMPLAINT);
      expect(stderr).toContain('(ENOSPC)');
      // The shoot's summary is small, and says that the clip failed.
      const left = readdirSync(out).filter((name) => name !== 'shoot.summary.json');
      expect(left).toEqual([]);
    }
  });

  test('what a killed run of the same process number left does not stand in the way', () => {
    const folder = temporaryFolder();
    const path = join(folder, 'walk.csv');
    const left = partialBeside(path, newMark(), 'partial');
    writeFileSync(left, 'cut off');
    writeFiles([{ path, content: 'whole' }]);
    expect(readFileSync(path, 'utf8')).toBe('whole');
    expect(readdirSync(folder).sort()).toEqual([basename(left), 'walk.csv'].sort());
  });

  test.each([
    ['files', ['correct', 'walk.csv', 'none.csv', '--out', 'out', '--force']],
    ['a manifest', ['correct', 'shoot.json', '--out', 'out', '--force']],
  ])('an exit code of %s survives a reader that goes away', (_, args) => {
    const folder = folderWithWalk();
    const clips = [{ file: 'walk.csv' }, { file: 'none.csv' }];
    writeFileSync(join(folder, 'shoot.json'), manifestOf(clips));
    const line = `"${process.execPath}" "${CLI}" ${args.join(' ')} | true; exit "\${PIPESTATUS[0]}"`;
    const { status, stderr } = spawnSync('bash', ['-c', line], { cwd: folder, encoding: 'utf8' });
    expect({ status, stderr }).toMatchObject({
      status: 1,
      stderr: expect.stringContaining('none.csv'),
    });
    expect(existsSync(join(folder, 'out', 'walk.result.json'))).toBe(true);
  });

  test('a name that turns the reading direction is not passed on to a terminal', () => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'moon\u202evsc.csv'), WALK);
    const { stdout, status } = twinkeel(folder, 'inspect', 'moon\u202evsc.csv');
    expect(status).toBe(0);
    expect(stdout).toContain('moon\\u202evsc.csv');
    expect(stdout).not.toContain('\u202e');
  });

  test('a clip whose record was edited is done again', () => {
    const folder = folderWithWalk();
    writeFileSync(join(folder, 'shoot.json'), manifestOf([{ file: 'walk.csv' }]));
    const run = () => twinkeel(folder, 'correct', 'shoot.json', '--out', 'out');
    expect(run()).toMatchObject({ status: 0 });
    const path = join(folder, 'out', 'walk.clip.json');
    const record = JSON.parse(readFileSync(path, 'utf8'));
    for (const edit of [{ reasons: 7 }, { verdict: null }, { reasons: [{}] }, { outputs: null }]) {
      writeFileSync(path, JSON.stringify({ ...record, ...edit }));
      expect(run()).toMatchObject({ status: 0, stderr: '' });
      expect(JSON.parse(readFileSync(path, 'utf8'))).toEqual(record);
    }
  });

  test('a folder that cannot be made is a failure, not a wrong call', () => {
    const folder = folderWithWalk();
    writeFileSync(join(folder, 'shoot.json'), manifestOf([{ file: 'walk.csv' }]));
    const { status, stderr } = twinkeel(folder, 'correct', 'shoot.json', '--out', 'walk.csv/out');
    expect({ status, stderr }).toMatchObject({
      status: 1,
      stderr: expect.stringMatching(COMPLAINT),
    });
  });

  test('a full disk behind standard output is said in a sentence', () => {
    const folder = folderWithWalk();
    const full = openSync('/dev/full', 'w');
    const { status, stderr } = spawnSync(process.execPath, [CLI, ...RUN], {
      cwd: folder,
      encoding: 'utf8',
      stdio: ['ignore', full, 'pipe'],
    });
    closeSync(full);
    expect(status).toBe(1);
    expect(stderr).not.toMatch(/\n +at /);
  });
});
