import { expect } from 'vitest';
import type { ErrorCode } from '../src/error.js';

/** Matches the library's error when it has this code and these words in its sentence. */
export function complaint(code: ErrorCode, words: string): Error {
  return expect.objectContaining({
    name: 'TwinkeelError',
    code,
    message: expect.stringContaining(words),
  });
}
