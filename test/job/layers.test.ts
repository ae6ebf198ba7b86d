import { readdirSync, readFileSync } from 'node:fs';
import { join, posix } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';

const SRC = fileURLToPath(new URL('../../src', import.meta.url));

/** Rooms with an entry of their own; that of picture/ lies lower, since others read it. */
const ROOMS = [
  'rotation',
  'track',
  'read',
  'inertial',
  'sync',
  'rig',
  'motion',
  'comfort',
  'handoff',
];
const ENTRIES = ROOMS.map((room) => `${room}.ts`);

/** From the ground up: a layer may import what stands above it in this list, and itself. */
const LAYERS = [
  ...['rotation', 'numeric', 'track', 'read', 'inertial', 'sync', 'rig', 'motion', 'comfort'],
  ...['limits.ts', 'correctOptions.ts', 'prepare.ts', 'steer.ts', 'measure.ts', 'blame.ts'],
  ...['correct.ts', 'words'],
  ...['picture', 'picture.ts'],
  ...['handoff', 'report', 'demo', 'files', 'batch', 'node.ts', 'cli.ts', 'index.ts'],
  ...[...ENTRIES, 'browser.ts'],
];

/** Files without imports of their own layer that everyone may use. */
const LEAVES = [
  ...['base64.ts', 'error.ts', 'math.ts', 'nearestWord.ts', 'readable.ts', 'shape.ts'],
  ...['tolerances.ts', 'webAssembly.ts'],
];

/** Layers that may import less than the list allows. */
const ONLY: Readonly<Record<string, readonly string[]>> = {
  numeric: [],
  read: ['rotation', 'track'],
  inertial: ['rotation', 'track', 'numeric'],
  sync: ['rotation', 'track', 'numeric', 'inertial'],
  rig: ['rotation', 'track', 'numeric'],
  motion: ['rotation', 'track', 'numeric'],
  comfort: ['rotation', 'track', 'numeric', 'rig'],
};

const NODE = ['files', 'batch', 'cli.ts', 'node.ts'];

/** Which layers may import a package; `node:` stands for all of Node's own modules. */
const PACKAGES: Readonly<Record<string, readonly string[]>> = {
  'node:': NODE,
  'fast-csv': NODE,
  'gl-matrix': ['rotation', 'rig'],
  'ml-matrix': ['numeric'],
  three: ['report'],
  uplot: ['report'],
  tinypool: ['batch'],
  picomatch: ['batch'],
  'fastest-levenshtein': ['nearestWord.ts'],
};

interface SourceFile {
  readonly name: string;
  readonly layer: string;
  /** Layers and leaves that the file imports, other than its own. */
  readonly ours: readonly string[];
  readonly packages: readonly string[];
  /** Files of the same layer that it imports. */
  readonly neighbours: readonly string[];
}

const layerOf = (path: string): string => path.split('/')[0]!;

function sourceFile(name: string): SourceFile {
  const text = readFileSync(join(SRC, name), 'utf8');
  const found = text.matchAll(/\bfrom '([^']+)'|\bimport\('([^']+)'\)|^import '([^']+)'/gm);
  const specifiers = Array.from(found, (match) => (match[1] ?? match[2] ?? match[3])!);
  const layer = layerOf(name);
  const imported = specifiers
    .filter((specifier) => specifier.startsWith('.'))
    .map((specifier) => posix.join(posix.dirname(name), specifier).replace(/\.js$/, '.ts'));
  const ours = imported.map(layerOf).filter((other) => other !== layer);
  const neighbours = imported.filter((other) => layerOf(other) === layer);
  const packages = specifiers
    .filter((specifier) => !specifier.startsWith('.'))
    .map((specifier) => specifier.replace(/^node:.*/, 'node:').replace(/^uplot\/.*/, 'uplot'));
  return { name, layer, ours, packages, neighbours };
}

const files = (readdirSync(SRC, { recursive: true }) as string[])
  .map((name) => name.replaceAll('\\', '/'))
  .filter((name) => name.endsWith('.ts'))
  .map(sourceFile);

describe.each(LAYERS)('%s', (layer) => {
  const own = files.filter((file) => file.layer === layer);

  test('it exists', () => {
    expect(own.length).toBeGreaterThan(0);
  });

  test('imports point down only', () => {
    const below = ONLY[layer] ?? LAYERS.slice(0, LAYERS.indexOf(layer));
    const allowed = [...below, ...LEAVES];
    const forbidden = own.flatMap(({ name, ours }) =>
      ours.filter((used) => !allowed.includes(used)).map((used) => `${name} imports ${used}`),
    );
    expect(forbidden).toEqual([]);
  });

  test('packages stay where they belong', () => {
    const forbidden = own.flatMap(({ name, packages }) =>
      packages
        .filter((used) => !PACKAGES[used]?.includes(layer))
        .map((used) => `${name} imports ${used}`),
    );
    expect(forbidden).toEqual([]);
  });
});

test('no file imports itself through others', () => {
  const neighbours = new Map(files.map((file) => [file.name, file.neighbours]));
  const reaches = (from: string, wanted: string, seen = new Set<string>()): boolean =>
    (neighbours.get(from) ?? []).some((next) => {
      if (next === wanted) return true;
      if (seen.has(next)) return false;
      seen.add(next);
      return reaches(next, wanted, seen);
    });
  expect(files.map(({ name }) => name).filter((name) => reaches(name, name))).toEqual([]);
});

test('every source file belongs to a layer', () => {
  const homeless = files.filter(({ layer }) => ![...LAYERS, ...LEAVES].includes(layer));
  expect(homeless.map(({ name }) => name)).toEqual([]);
});

test('what everyone may import imports no layer', () => {
  const leaves = files.filter(({ layer }) => LEAVES.includes(layer));
  const foreign = leaves.flatMap(({ name, ours, packages }) => [
    ...ours,
    ...packages.filter((used) => !PACKAGES[used]?.includes(name)),
  ]);
  expect(foreign).toEqual([]);
});

test('only correct.ts, its last step and its limits join motion and comfort, and a command that says cautions', () => {
  const joining = files.filter(({ ours }) => ours.includes('motion') && ours.includes('comfort'));
  expect(joining.map(({ name }) => name).sort()).toEqual([
    'batch/inspect.ts',
    'blame.ts',
    'correct.ts',
    'index.ts',
    'limits.ts',
  ]);
});

test('motion and rig meet in the steps of correct.ts and its limits, and in the command', () => {
  const joining = files.filter(({ ours }) => ours.includes('motion') && ours.includes('rig'));
  expect(joining.map(({ name }) => name).sort()).toEqual([
    'batch/settingWords.ts',
    'correct.ts',
    'correctOptions.ts',
    'index.ts',
    'limits.ts',
    'prepare.ts',
    'steer.ts',
  ]);
});

test.each(['index.ts', 'picture.ts', 'browser.ts', ...ENTRIES])(
  '%s, for browsers, reaches nothing that needs Node',
  (entry) => {
    const { ours } = files.find(({ name }) => name === entry)!;
    expect(ours.filter((used) => NODE.includes(used))).toEqual([]);
  },
);

test.each(['index.ts', 'node.ts', 'picture.ts', 'browser.ts', ...ENTRIES])(
  '%s only exports what others define',
  (name) => {
    const text = readFileSync(join(SRC, name), 'utf8');
    const rest = text
      .replace(/\/\*[\s\S]*?\*\//g, '')
      .replace(/export (?:(?:type )?\{[^}]*\}|\*) from '[^']+';/g, '');
    expect(rest.trim()).toBe('');
  },
);

test.each(ROOMS)('the entry of %s/ exports that room and nothing else', (room) => {
  expect(files.find(({ name }) => name === `${room}.ts`)!.ours).toSatisfy((used: string[]) =>
    used.every((layer) => layer === room),
  );
});
