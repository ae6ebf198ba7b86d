/**
 * Builds what is shipped beside the declarations: the library and the command in few files each, since
 * loading a file takes about a millisecond, the page of the report and the file for browsers in one. Then
 * writes the notices of those whose code is in them. `npm run build` runs it.
 */
import { chmodSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const ROOT = fileURLToPath(new URL('../', import.meta.url));
const ROOMS = ['rotation', 'track', 'read', 'inertial', 'sync', 'rig', 'motion', 'comfort'];
const ENTRIES = ['index', ...ROOMS, 'handoff', 'picture', 'node'];

/**
 * gl-matrix hands its parts on as objects, of which a bundler keeps everything; from a part's own file it
 * takes what is used.
 */
const partsOfGlMatrix = {
  name: 'parts of gl-matrix',
  setup({ onLoad }) {
    onLoad({ filter: /\/src\/(rotation|rig)\/\w+\.ts$/ }, ({ path }) => ({
      loader: 'ts',
      contents: readFileSync(path, 'utf8').replace(
        /^import \{([^}]*)\} from 'gl-matrix';$/m,
        (_, names) =>
          names
            .split(',')
            .map((name) => name.trim())
            .filter((name) => name !== '' && !name.startsWith('type '))
            .map((name) => `import * as ${name} from 'gl-matrix/esm/${name}.js';`)
            .join(' '),
      ),
    }));
  },
};

/**
 * A bundler cuts what is loaded when asked for into a file for every set of parts that share something:
 * some fifty for one call. Where every part hands on `correct` too, all that it needs is one set, and one
 * file. Small parts that need little of it, such as the settings for a help, stay without.
 */
const oneCoreOfCommand = {
  name: 'one core of the command',
  setup({ onLoad }) {
    onLoad({ filter: CORE_PARTS }, ({ path }) => ({
      loader: 'ts',
      contents: `${readFileSync(path, 'utf8')}\nexport { correct as core } from './correct.js';`,
    }));
  },
};
const CORE_PARTS =
  /\/batch\/(demo|handoff|ingest|inspect|manifest|merge|orient|report|resample|resampleShoot|shoot|worker)\.ts$/;

const COMMON = {
  ...{ absWorkingDir: ROOT, bundle: true, metafile: true, logLevel: 'warning' },
  // Notices come whole, from the packages' licences.
  legalComments: 'none',
  // Sources as modules, of which only what is used is taken.
  mainFields: ['module', 'main'],
  alias: {
    'ml-matrix': fileURLToPath(new URL('src/index.js', import.meta.resolve('ml-matrix'))),
  },
  plugins: [partsOfGlMatrix],
};
const FOR_NODE = { platform: 'node', format: 'esm', target: ['es2022', 'node20'] };
const IN_CHUNKS = { splitting: true, entryNames: '[name]' };
const FOR_BROWSERS = { minify: true, target: 'es2022' };

/** How the library is built: its names stay, so that a stack means something. */
export const LIBRARY = {
  ...{ ...COMMON, ...FOR_NODE },
  external: ['fast-csv', 'picomatch', 'tinypool'],
};

/**
 * What is built. Library and command lie equally deep, so that `../../` is the package for both, as it is
 * for the sources.
 */
export const PARTS = [
  {
    ...{ ...LIBRARY, ...IN_CHUNKS, outdir: 'dist/library' },
    entryPoints: ENTRIES.map((name) => `src/${name}.ts`),
  },
  {
    ...{ ...COMMON, ...FOR_NODE, ...IN_CHUNKS, minify: true, outdir: 'dist/command' },
    entryPoints: ['src/cli.ts', 'src/batch/worker.ts', 'src/batch/resampleWorker.ts'],
    plugins: [...COMMON.plugins, oneCoreOfCommand],
    external: ['tinypool'],
    // For packages that are no modules and ask for Node's own.
    banner: {
      js: "import { createRequire } from 'node:module'; const require = createRequire(import.meta.url);",
    },
  },
  {
    ...{ ...COMMON, ...FOR_BROWSERS, format: 'iife', outfile: 'dist/report/page.js' },
    entryPoints: ['src/report/page/main.ts'],
  },
  {
    ...{ ...COMMON, ...FOR_BROWSERS, format: 'esm', outfile: 'dist/twinkeel.browser.js' },
    entryPoints: ['src/browser.ts'],
  },
];

/** The folders of packages whose code is in what was built. */
function packagesIn({ outputs }) {
  const inputs = Object.values(outputs).flatMap((output) =>
    Object.entries(output.inputs).filter(([, { bytesInOutput }]) => bytesInOutput > 0),
  );
  const folders = inputs.map(([path]) => /^.*node_modules\/(@[^/]+\/)?[^/]+/.exec(path)?.[0]);
  return [...new Set(folders)].filter((folder) => folder !== undefined).sort();
}

/** Name, release and licence of a package, and its words. */
function noticeOf(folder) {
  const at = join(ROOT, folder);
  const { name, version, license } = JSON.parse(readFileSync(join(at, 'package.json'), 'utf8'));
  const file = readdirSync(at).find((entry) => /^licen[cs]e(\.|$)/i.test(entry));
  if (!file) throw new Error(`${folder}: found no licence, expected a file of that name`);
  return `${name} ${version} (${license})\n\n${readFileSync(join(at, file), 'utf8').trim()}\n`;
}

const notices = (folders) => folders.map(noticeOf).join(`\n${'-'.repeat(80)}\n\n`);

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const folders = [];
  for (const part of PARTS) {
    const { metafile } = await build(part);
    const inPart = packagesIn(metafile);
    folders.push(...inPart);
    // A single file goes on its way alone, in every report and onto pages.
    if (part.outfile) {
      const text = readFileSync(join(ROOT, part.outfile), 'utf8');
      writeFileSync(
        join(ROOT, part.outfile),
        `${text}/*!\nHolds code of\n\n${notices(inPart)}*/\n`,
      );
    }
  }
  chmodSync(join(ROOT, 'dist/command/cli.js'), 0o755);
  const head = 'The files of twinkeel hold code of these packages.\n\n';
  writeFileSync(join(ROOT, 'dist/NOTICES.txt'), head + notices([...new Set(folders)].sort()));
}
