/** What is published: no more than needed, everything that is promised, small where it can be. */
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { build } from 'esbuild';
import { expect, test } from 'vitest';

const ROOT = new URL('../../', import.meta.url).pathname;
const manifest = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as {
  exports: Record<string, string | { types: string; default: string }>;
  dependencies: Record<string, string>;
  scripts: Record<string, string>;
};

const packed = JSON.parse(
  spawnSync('npm', ['pack', '--dry-run', '--json', '--ignore-scripts'], {
    cwd: ROOT,
    encoding: 'utf8',
  }).stdout,
)[0] as { files: { path: string }[]; size: number };
const paths = packed.files.map(({ path }) => path);

test('the package holds what is built, the schemas and the words, and nothing else', () => {
  const allowed =
    /^(dist\/.*\.(js|css|d\.ts)|docs\/schema\/.*\.json|package\.json|README\.md|LICENSE|CHANGELOG\.md)$/;
  expect(paths.filter((path) => !allowed.test(path))).toEqual([]);
  for (const part of [
    'dist/report/page.js',
    'dist/report/page.css',
    'dist/command/worker.js',
    'dist/batch/worker.js',
  ]) {
    expect(paths).toContain(part);
  }
  // 1.16 MB when this was written: a third is the page with its three-dimensional preview, a sixth the
  // command, which starts in a third less time for being in few files.
  expect(packed.size).toBeLessThan(1_250_000);
});

test('every entry of "exports" is in the package', () => {
  const targets = Object.values(manifest.exports).flatMap((entry) =>
    typeof entry === 'string' ? [entry] : [entry.types, entry.default],
  );
  expect(
    targets.map((target) => target.replace('./', '')).filter((path) => !paths.includes(path)),
  ).toEqual([]);
});

test('nothing runs when the package is installed', () => {
  const hooks = ['preinstall', 'install', 'postinstall', 'prepare', 'prepublish'];
  expect(hooks.filter((hook) => hook in manifest.scripts)).toEqual([]);
});

/** Bytes of a program that imports a few names, minified, all dependencies included. */
async function bundledBytes(names: string, entry = 'index'): Promise<number> {
  const { outputFiles } = await build({
    stdin: { contents: `export { ${names} } from './dist/${entry}.js';`, resolveDir: ROOT },
    bundle: true,
    minify: true,
    format: 'esm',
    write: false,
  });
  return outputFiles[0]!.contents.length;
}

test('the algebra alone takes less than 12 kB: the rest of the library falls away', async () => {
  expect(
    await bundledBytes('composeQuaternions, slerp, quaternionFromEuler', 'rotation'),
  ).toBeLessThan(12_000);
});

test('the whole room of rotations takes less than 30 kB, of nothing but itself and gl-matrix', async () => {
  const { outputFiles, metafile } = await build({
    stdin: { contents: "export * from './dist/rotation.js';", resolveDir: ROOT },
    ...{ bundle: true, minify: true, format: 'esm', write: false, metafile: true },
  });
  // 28 573 bytes when this was written, 17 646 of them gl-matrix.
  expect(outputFiles[0]!.contents.length).toBeLessThan(30_000);
  const own =
    /^(dist\/(rotation\/\w+|rotation|error|math|tolerances)\.js|node_modules\/gl-matrix\/.*|<stdin>)$/;
  expect(Object.keys(metafile.inputs).filter((name) => !own.test(name))).toEqual([]);
});

/** The names of an entry that is built. */
const namesOf = async (entry: string) =>
  Object.keys((await import(new URL(`dist/${entry}.js`, `file://${ROOT}`).href)) as object).sort();
const ROOMS = Object.keys(manifest.exports)
  .map((name) => name.replace('./', ''))
  .filter((name) => !['.', 'node', 'picture', 'browser', 'package.json'].includes(name));

test('the main entry can be taken in at a look: the whole job, its errors and its cautions', async () => {
  expect(await namesOf('index')).toEqual([
    ...['CAUTIONS', 'HANDOFF_TARGETS', 'TwinkeelError', 'alignClocks', 'correct'],
    ...['eyeCorrections', 'fuseTrack', 'handOff', 'isTwinkeelError', 'judge', 'orientLog'],
    ...['parseFrameRate', 'parseMapping', 'readMotionLog', 'readResult', 'readRig', 'readTrack'],
    ...['separate', 'toCsv', 'toJson'],
  ]);
});

test('every name of the main entry but the job itself and its errors belongs to a room', async () => {
  const rooms = (await Promise.all(ROOMS.map(namesOf))).flat();
  // No name belongs to two rooms.
  expect(rooms.filter((name, k) => rooms.indexOf(name) !== k)).toEqual([]);
  const job = ['TwinkeelError', 'correct', 'isTwinkeelError'];
  const homeless = (await namesOf('index')).filter((name) => !rooms.includes(name));
  expect(homeless).toEqual(job);
  // The file for browsers has them all.
  expect(await namesOf('twinkeel.browser')).toEqual([...rooms, ...job].sort());
});

test('reading, correcting and writing leave report, formats and batch behind', async () => {
  const all = 'correct, readTrack, toCsv, toGltf, toFfmpeg, alignClocks';
  const whole = await bundledBytes(all, 'browser');
  expect(await bundledBytes('correct, readTrack, toCsv')).toBeLessThan(whole);
});

test('every dependency and its licence is listed', () => {
  const list = readFileSync(join(ROOT, 'docs/licences.md'), 'utf8');
  const taken = [...Object.keys(manifest.dependencies), 'three', 'uplot'];
  for (const name of taken) {
    const path = join(ROOT, 'node_modules', name, 'package.json');
    expect(existsSync(path)).toBe(true);
    const { version, license } = JSON.parse(readFileSync(path, 'utf8')) as Record<string, string>;
    expect(list).toContain(`| ${name} | ${version} | ${license} |`);
  }
});
