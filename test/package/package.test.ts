/** What is published: no more than needed, everything that is promised, small where it can be. */
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { isBuiltin } from 'node:module';
import { join } from 'node:path';
import { type BuildOptions, build } from 'esbuild';
import { expect, test } from 'vitest';

const ROOT = new URL('../../', import.meta.url).pathname;
const manifest = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as {
  exports: Record<string, string | { types: string; default: string }>;
  dependencies: Record<string, string>;
  scripts: Record<string, string>;
};

const { PARTS } = (await import(new URL('src/build.mjs', `file://${ROOT}`).href)) as {
  PARTS: BuildOptions[];
};
/** All files that are built, of what and what they import, from building them again without writing. */
const builds = await Promise.all(
  PARTS.map((part) => build({ ...part, write: false, metafile: true } as const)),
);
const shipped = Object.fromEntries(
  builds.flatMap(({ metafile }) => Object.entries(metafile!.outputs)),
);
/** Folders of the packages whose code is in a file. */
const packagesIn = (file: string) =>
  Object.entries(shipped[file]!.inputs).flatMap(([input, { bytesInOutput }]) =>
    bytesInOutput > 0 ? (/^node_modules\/(?:@[^/]+\/)?[^/]+/.exec(input) ?? []) : [],
  );

const packed = JSON.parse(
  spawnSync('npm', ['pack', '--dry-run', '--json', '--ignore-scripts'], {
    cwd: ROOT,
    encoding: 'utf8',
  }).stdout,
)[0] as { files: { path: string }[]; size: number };
const paths = packed.files.map(({ path }) => path);

test('the package holds what is built, the schemas and the words, and nothing else', () => {
  const allowed =
    /^(dist\/.*\.(js|css|d\.ts)|dist\/NOTICES\.txt|docs\/schema\/.*\.json|package\.json|README\.md|LICENSE|CHANGELOG\.md)$/;
  expect(paths.filter((path) => !allowed.test(path))).toEqual([]);
  for (const part of [
    'dist/report/page.js',
    'dist/report/page.css',
    'dist/command/worker.js',
    'dist/command/resampleWorker.js',
    'dist/NOTICES.txt',
  ]) {
    expect(paths).toContain(part);
  }
  // 1.04 MB when this was written, and 5 %: a quarter each are the library and the command, a fifth is the
  // page with its three-dimensional preview, a seventh each the file for browsers and the declarations.
  expect(packed.size).toBeLessThan(1_090_000);
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

/** Where an entry is built. */
const pathOf = (entry: string) =>
  entry === 'browser' ? './dist/twinkeel.browser.js' : `./dist/library/${entry}.js`;

/** Bytes of a program that imports a few names, minified, all dependencies included. */
async function bundledBytes(names: string, entry = 'index'): Promise<number> {
  const { outputFiles } = await build({
    stdin: { contents: `export { ${names} } from '${pathOf(entry)}';`, resolveDir: ROOT },
    ...{ bundle: true, minify: true, format: 'esm', write: false },
    // Here it warns of imports without effect, as it does not of an installed package.
    logLevel: 'error',
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
    stdin: { contents: "export * from './dist/library/rotation.js';", resolveDir: ROOT },
    ...{ bundle: true, minify: true, format: 'esm', write: false, metafile: true },
  });
  // 15 129 bytes when this was written.
  expect(outputFiles[0]!.contents.length).toBeLessThan(30_000);
  const own =
    /^(src\/(rotation\/\w+|rotation|error|math|tolerances)\.ts|node_modules\/gl-matrix\/.*)$/;
  const files = Object.keys(metafile.inputs).filter((name) => name !== '<stdin>');
  const sources = files.flatMap((file) => Object.keys(shipped[file]!.inputs));
  expect(sources.length).toBeGreaterThan(0);
  expect(sources.filter((name) => !own.test(name))).toEqual([]);
});

test('one format that is handed over leaves the others behind', async () => {
  const all = await bundledBytes('handOff', 'handoff');
  expect(await bundledBytes('toGltf', 'handoff')).toBeLessThan(all / 4);
});

/** What a built file loads at once, itself and others, and the packages among it. */
function loadedBy(file: string, known = new Set<string>()): Set<string> {
  known.add(file);
  for (const { path, kind } of shipped[file]?.imports ?? []) {
    if (kind === 'import-statement' && !known.has(path)) loadedBy(path, known);
  }
  return known;
}

test('no entry loads a package before it is needed, and only that for Node asks for its modules', () => {
  for (const entry of ['index', ...ROOMS, 'picture', 'node']) {
    const path = `dist/library/${entry}.js`;
    expect(Object.keys(shipped)).toContain(path);
    const others = [...loadedBy(path)].filter((name) => !(name in shipped));
    expect(others.filter((name) => entry !== 'node' || !isBuiltin(name))).toEqual([]);
  }
});

test('what is installed with the package is what its files import', () => {
  const imports = Object.values(shipped).flatMap((file) => file.imports.map(({ path }) => path));
  const packages = imports.filter((path) => !isBuiltin(path) && !(path in shipped));
  expect([...new Set(packages)].sort()).toEqual(Object.keys(manifest.dependencies).sort());
});

/** The names of an entry that is built. */
const namesOf = async (entry: string) =>
  Object.keys((await import(new URL(pathOf(entry), `file://${ROOT}`).href)) as object).sort();
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
  expect(await namesOf('browser')).toEqual([...rooms, ...job].sort());
});

test('reading, correcting and writing leave report, formats and batch behind', async () => {
  const all = 'correct, readTrack, toCsv, toGltf, toFfmpeg, alignClocks';
  const whole = await bundledBytes(all, 'browser');
  expect(await bundledBytes('correct, readTrack, toCsv')).toBeLessThan(whole);
});

const installed = Object.keys(manifest.dependencies).map((name) => `node_modules/${name}`);
const bundled = [...new Set(Object.keys(shipped).flatMap(packagesIn))];

/** What a package says of itself. */
const factsOf = (folder: string) =>
  JSON.parse(readFileSync(join(ROOT, folder, 'package.json'), 'utf8')) as Record<string, string>;

test('every package that is installed or whose code is shipped is listed with its licence', () => {
  const list = readFileSync(join(ROOT, 'docs/licences.md'), 'utf8');
  for (const { name, version, license } of [...installed, ...bundled].map(factsOf)) {
    expect(list).toContain(`| ${name} | ${version} | ${license} |`);
  }
});

/** Who holds the rights, as a package's licence says. */
const rightsOf = (folder: string) => {
  const name = readdirSync(join(ROOT, folder)).find((entry) => entry.startsWith('LICENSE'))!;
  return /^Copyright .*$/im.exec(readFileSync(join(ROOT, folder, name), 'utf8'))![0];
};

test('the code of others comes with their notices: of all in one file, and in files that travel alone', () => {
  expect(bundled.length).toBeGreaterThan(10);
  const alone = ['dist/report/page.js', 'dist/twinkeel.browser.js'];
  for (const [file, folders] of [
    ['dist/NOTICES.txt', bundled] as const,
    ...alone.map((file) => [file, packagesIn(file)] as const),
  ]) {
    const notices = readFileSync(join(ROOT, file), 'utf8');
    for (const folder of folders) {
      const { name, version, license } = factsOf(folder);
      const from = notices.indexOf(`\n${name} ${version} (${license})\n`);
      expect(from, `${name} in ${file}`).toBeGreaterThan(0);
      expect(notices.slice(from)).toContain(rightsOf(folder));
      expect(notices.slice(from)).toContain('Permission is hereby granted');
    }
  }
});

/** Files of the command that are loaded with some of its sources, in turn. */
function loadedWith(...sources: string[]): string[] {
  const waiting = Object.keys(shipped).filter(
    (file) => file.startsWith('dist/command/') && sources.includes(shipped[file]!.entryPoint ?? ''),
  );
  for (const file of waiting) {
    for (const { path, kind } of shipped[file]!.imports) {
      if (kind === 'import-statement' && shipped[path] && !waiting.includes(path)) {
        waiting.push(path);
      }
    }
  }
  return waiting;
}

test('what corrects a clip is loaded in a dozen files, without what only some files and shoots need', () => {
  const loaded = loadedWith('src/cli.ts', 'src/batch/settings.ts', 'src/batch/correct.ts');
  // One for each set of parts that share something, where there were some fifty.
  expect(loaded.length).toBeGreaterThan(3);
  expect(loaded.length).toBeLessThanOrEqual(12);
  const packages = loaded.flatMap(packagesIn);
  expect(packages).toContain('node_modules/gl-matrix');
  expect(packages).not.toContain('node_modules/picomatch');
  expect(packages).not.toContain('node_modules/fast-csv');
});

test('a help is loaded without what does the work', () => {
  const bytes = loadedWith('src/cli.ts', 'src/batch/settings.ts').reduce(
    (sum, file) => sum + shipped[file]!.bytes,
    0,
  );
  expect(bytes).toBeLessThan(32_000);
});
