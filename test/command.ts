import { fileURLToPath } from 'node:url';

/** The built command, as it is published. */
export const CLI = fileURLToPath(new URL('../dist/command/cli.js', import.meta.url));
