import { TwinkeelError } from '../error.js';

/** The error for a file that may not be replaced. */
export function alreadyThere(file: string): TwinkeelError {
  return new TwinkeelError('file/exists', {
    file,
    found: 'a file of this name',
    expected: 'a new name',
    remedy: 'choose another folder or pass --force to replace it',
  });
}

/** The error for a place that cannot be written. */
export function unwritable(file: string, found: string): TwinkeelError {
  return new TwinkeelError('file/unwritable', {
    file,
    found,
    expected: 'a writable folder with room',
    remedy: 'choose another folder',
  });
}
