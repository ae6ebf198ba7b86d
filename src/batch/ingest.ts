import type { Options } from './usage.js';
export async function ingest(_files: readonly string[], _options: Options): Promise<number> {
  return 0;
}
