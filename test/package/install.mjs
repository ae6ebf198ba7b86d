/**
 * Installs the packed package in an empty project and uses it as others would: as an ES module, from
 * CommonJS, and with types under both kinds of module resolution. Needs the npm registry, so it
 * belongs to CI and not to `npm test`. Run: node test/package/install.mjs
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const root = new URL('../../', import.meta.url).pathname;
const project = mkdtempSync(join(tmpdir(), 'greenhouse-'));
const run = (command, ...args) =>
  execFileSync(command, args, {
    cwd: project,
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'inherit'],
  });
try {
  execFileSync('npm', ['pack', '--ignore-scripts', '--pack-destination', project], {
    cwd: root,
    stdio: 'ignore',
  });
  const tarball = readdirSync(project).find((name) => name.endsWith('.tgz'));
  writeFileSync(join(project, 'package.json'), '{ "name": "greenhouse", "private": true }');
  run('npm', 'install', '--no-audit', '--no-fund', `./${tarball}`);

  const rows = "Array.from({ length: 300 }, (_, k) => k / 60 + ',0,0,0,1').join('\\n')";
  writeFileSync(
    join(project, 'use.mjs'),
    `import { correct, readTrack } from 'twinkeel';
import { correctShoot, readTrackFile } from 'twinkeel/node';
import { slerp } from 'twinkeel/rotation';
const result = correct(readTrack('time_s,x,y,z,w\\n' + ${rows} + '\\n'));
console.log(result.shot, typeof correctShoot, typeof readTrackFile, typeof slerp);`,
  );
  writeFileSync(
    join(project, 'use.cjs'),
    `import('twinkeel').then(({ correct, readTrack }) => {
  console.log(correct(readTrack('time_s,x,y,z,w\\n' + ${rows} + '\\n')).shot);
});`,
  );
  writeFileSync(
    join(project, 'use.mts'),
    `import { correct, readTrack, type CorrectionResult } from 'twinkeel';
import { IDENTITY, type Quaternion } from 'twinkeel/rotation';
export const still: Quaternion = IDENTITY;
export const result: CorrectionResult = correct(readTrack(''));
`,
  );
  writeFileSync(
    join(project, 'useNode.mts'),
    `import { readTrackFile } from 'twinkeel/node';
export const track = readTrackFile('a.csv');
`,
  );
  const tsc = join(root, 'node_modules/typescript/bin/tsc');
  /** Compiles the two files strictly; the core without any globals, the Node entry with Node's. */
  const compiles = (module, moduleResolution) =>
    [
      ['use.mts', []],
      ['useNode.mts', ['node']],
    ].every(([file, types]) => {
      const compilerOptions = {
        ...{ noEmit: true, strict: true, target: 'es2022', lib: ['es2022'], module },
        ...{ moduleResolution, types, typeRoots: [join(root, 'node_modules/@types')] },
      };
      const config = JSON.stringify({ compilerOptions, files: [file] });
      writeFileSync(join(project, 'tsconfig.json'), config);
      return run(process.execPath, tsc, '-p', 'tsconfig.json') === '';
    });
  const checks = {
    'ES module': () =>
      run(process.execPath, 'use.mjs').startsWith('locked-off function function function'),
    'CommonJS by dynamic import': () => run(process.execPath, 'use.cjs').startsWith('locked-off'),
    'types, node16': () => compiles('node16', 'node16'),
    'types, bundler': () => compiles('esnext', 'bundler'),
    'the command': () =>
      run(join(project, 'node_modules/.bin/twinkeel'), '--version').trim() !== '',
  };
  for (const [name, check] of Object.entries(checks)) {
    if (!check()) throw new Error(`${name}: an answer that was not expected`);
    console.log(`installed package, ${name}: works under Node ${process.version}`);
  }
} finally {
  rmSync(project, { recursive: true });
}
