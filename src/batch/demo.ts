import { join } from 'node:path';
import { demoFiles } from '../demo/demoFiles.js';
import { writeFiles } from '../files/writeFiles.js';
import { correct } from './correct.js';
import { print } from './eachFile.js';
import { report } from './report.js';
import { type Options, textOf, UsageError } from './usage.js';

const DEMO_STEMS = ['greenhouse-walk', 'greenhouse-gyro'];

/** `twinkeel demo`: makes the example and runs the main job on both of its files. */
export async function demo(files: readonly string[], options: Options): Promise<number> {
  if (files.length > 0) throw new UsageError('demo takes no files');
  const folder = textOf(options, 'out') ?? 'demo-output';
  const force = options.force === true;
  const made = demoFiles().map(({ name, text }) => ({ path: join(folder, name), content: text }));
  writeFiles(made, { force });
  print(
    'A night walk through a greenhouse: 40 s down the aisle, left at the water tank, a stop at the night-blooming cactus.',
  );
  print(`Made ${made.map(({ path }) => path).join(', ')}.\n`);
  let code = 0;
  for (const stem of DEMO_STEMS) {
    const failed = await correct([join(folder, `${stem}.csv`)], {
      mapping: join(folder, `${stem}.mapping.txt`),
      rate: '60000/1001',
      out: folder,
      limit: '12',
      force,
      // The demonstration shows what this build makes.
      fresh: true,
    });
    code = Math.max(code, failed);
  }
  const results = DEMO_STEMS.map((stem) => join(folder, `${stem}.result.json`));
  return Math.max(code, await report(results, { out: join(folder, 'report.html'), force }));
}
