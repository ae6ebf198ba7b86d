import { basename, extname } from 'node:path';
import { TwinkeelError } from '../error.js';
import { realOf } from './realPath.js';

/** Refuses to write over anything that was read, by whatever way, whatever --force says. */
export function spareInputs(paths: readonly string[], read: readonly string[]): void {
  const inputs = new Set(read.map(realOf));
  const clash = paths.find((path) => inputs.has(realOf(path)));
  if (clash === undefined) return;
  throw new TwinkeelError('file/exists', {
    file: clash,
    found: 'an input of this call where the result would go',
    expected: 'another folder',
    remedy: 'inputs are never written over; choose another --out',
  });
}

/** Refuses a name that an earlier file of the call had: its results would lie in the same place. */
export function refuseTwins(): (file: string, stem: string) => void {
  const owners = new Map<string, string>();
  return (file, stem) => {
    const other = owners.get(stem);
    if (other !== undefined) {
      throw new TwinkeelError('file/exists', {
        file,
        found: `the name "${stem}" of ${other} again`,
        expected: 'files whose names differ',
        remedy: 'rename one, or write them to different folders',
      });
    }
    owners.set(stem, file);
  };
}

/** The name of the clip that a result file belongs to. */
export function clipNameOf(file: string): string {
  return stemOf(file).replace(/\.result$/, '');
}

/** The name of a file without folder and ending. */
export function stemOf(file: string): string {
  return basename(file, extname(file));
}
