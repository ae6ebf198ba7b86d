import { execFileSync } from 'node:child_process';
import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';

const ROOT = join(import.meta.dirname, '..');

/** What the build is made of. */
const SOURCES = ['src', 'package.json', 'tsconfig.json', 'tsconfig.build.json'];

/** When a file, or anything below a folder, was last changed, ms; 0 for what is not there. */
function changedAt(path: string): number {
  const stat = statSync(path, { throwIfNoEntry: false });
  if (!stat) return 0;
  if (!stat.isDirectory()) return stat.mtimeMs;
  return readdirSync(path).reduce(
    (latest, name) => Math.max(latest, changedAt(join(path, name))),
    0,
  );
}

/** Many tests run the built command: a build that is older than its sources is made anew first. */
export default function setup(): void {
  // What the build writes last.
  const built = changedAt(join(ROOT, 'dist/NOTICES.txt'));
  const sources = SOURCES.map((name) => changedAt(join(ROOT, name)));
  if (built > Math.max(...sources)) return;
  process.stdout.write('the build is older than its sources: building\n');
  execFileSync('npm', ['run', '--silent', 'build'], { cwd: ROOT, stdio: 'inherit' });
}
