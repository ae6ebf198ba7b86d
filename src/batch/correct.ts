import { TwinkeelError } from '../error.js';
import { resultPaths } from '../files/writeFiles.js';
import { loadSettings, settingsFromOptions } from './clipSettings.js';
import { correctClip } from './correctClip.js';
import { eachFile, spareInputs, stemOf } from './eachFile.js';
import { type Options, requireOut } from './usage.js';

/** `twinkeel correct`: the main job. */
export async function correct(files: readonly string[], options: Options): Promise<number> {
  const settings = settingsFromOptions(options);
  const folder = requireOut(options);
  const loaded = await loadSettings(settings);
  const stems = new Map<string, string>();
  return eachFile(files, options, async (file) => {
    const stem = stemOf(file);
    const other = stems.get(stem);
    if (other !== undefined) {
      throw new TwinkeelError('file/exists', {
        file,
        found: `the name "${stem}" of ${other} again`,
        expected: 'files whose names differ',
        remedy: 'rename one, or write them to different folders',
      });
    }
    stems.set(stem, file);
    spareInputs(resultPaths(folder, stem), files);
    return correctClip({ file, folder, stem, settings, force: options.force === true }, loaded);
  });
}
