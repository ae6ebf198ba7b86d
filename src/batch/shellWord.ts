/** A path as a shell takes it in one piece. */
export function shellWord(path: string): string {
  return /^[\p{L}\p{N}_./@%+=:,-]+$/u.test(path) && !path.startsWith('-')
    ? path
    : `'${path.replaceAll("'", "'\\''")}'`;
}
