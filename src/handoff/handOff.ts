import type { CorrectionResult } from '../correct.js';
import type { HandoffFile, HandoffOptions } from './handoffOptions.js';
import { describeHandoff } from './sidecar.js';
import { type HandoffTarget, targetNamed } from './targets.js';

/**
 * The files of a target, and beside them a text that says in words what the numbers mean, with one
 * worked example.
 *
 * @param result - of {@link correct}
 * @param target - one of {@link HANDOFF_TARGETS}
 * @param stem - the clip's name, with which the files begin
 * @param options - each target takes what concerns it
 * @returns files to be written; nothing is written here
 * @throws TwinkeelError `argument/invalid` for an unknown target or what a target cannot hold
 * @example
 * handOff(result, 'usda', 'cactus').map(({ name }) => name); // ['cactus.usda', 'cactus.usda.txt']
 */
export function handOff(
  result: CorrectionResult,
  target: HandoffTarget,
  stem: string,
  options: HandoffOptions = {},
): HandoffFile[] {
  const { ending, write } = targetNamed(target);
  const written = write(result, options, stem);
  const own =
    typeof written === 'string' || written instanceof Uint8Array
      ? [{ name: `${stem}${ending}`, content: written }]
      : written.map((file) => withPrefix(`${stem}${ending}`, file));
  return [
    ...own,
    { name: `${stem}.${target}.txt`, content: describeHandoff(result, target, options) },
  ];
}

/** The file under a longer name; its content is still asked for only when it is needed. */
function withPrefix(prefix: string, file: HandoffFile): HandoffFile {
  return {
    name: `${prefix}${file.name}`,
    get content() {
      return file.content;
    },
  };
}
