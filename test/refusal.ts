import { expect } from 'vitest';
import type { ErrorCode } from '../src/error.js';

/** Matches the library's error when it has this code and its message names what was found. */
export function refusal(code: ErrorCode, found: string): Error {
  return expect.objectContaining({
    name: 'TwinkeelError',
    code,
    message: expect.stringContaining(`found ${found}`),
  });
}
