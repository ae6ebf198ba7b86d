import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';

/** The draw of this run; another seed is another sample. */
const SEED = 'twinkeel 1';

/** Mutants drawn per folder. What is computed while a module loads drops out of them later. */
const COUNT = 130;

/**
 * What tells a mutant from every other: where it stands, and what stands there instead.
 *
 * @param {string} fileName - relative to the project
 * @param {{ mutatorName: string, replacement?: string, location: { start: object, end: object } }} mutant
 */
export function keyOf(fileName, { mutatorName, replacement, location: { start, end } }) {
  const place = `${start.line}:${start.column}-${end.line}:${end.column}`;
  return `${fileName}:${place} ${mutatorName} ${replacement}`;
}

/** What {@link keyOf} made a key of; lines and columns from 1. */
export function placeOf(key) {
  const [, file, startLine, startColumn, endLine, endColumn, replacement] =
    /^(\S+):(\d+):(\d+)-(\d+):(\d+) \S+ (.*)$/s.exec(key);
  return {
    file,
    start: { line: Number(startLine), column: Number(startColumn) },
    end: { line: Number(endLine), column: Number(endColumn) },
    replacement,
  };
}

/** The sample: whose hashes are the least, so that the same source always gives the same. */
export function draw(keys) {
  const hash = (key) => createHash('sha256').update(`${SEED} ${key}`).digest('hex');
  return [...keys].sort((a, b) => (hash(a) < hash(b) ? -1 : 1)).slice(0, COUNT);
}

/**
 * A checker that lets only the mutants run that stand in the file that MUTATION_ONLY names, or none.
 * The others are reported as "CompileError", which Stryker leaves out of its score; no other status
 * says "not asked".
 */
function sample() {
  const folder = process.env.MUTATION_FOLDER;
  const file = process.env.MUTATION_ONLY;
  const only = new Set(file ? JSON.parse(readFileSync(file, 'utf8')) : []);
  const runs = (mutant) => {
    const name = mutant.fileName.slice(mutant.fileName.lastIndexOf(`src/${folder}/`));
    return only.has(keyOf(name, { ...mutant, location: countedFromOne(mutant.location) }));
  };
  return {
    init: async () => {},
    check: async (mutants) =>
      Object.fromEntries(
        mutants.map((mutant) => [
          mutant.id,
          runs(mutant) ? { status: 'passed' } : { status: 'compileError', reason: 'not drawn' },
        ]),
      ),
    group: async (mutants) => [mutants.map(({ id }) => id)],
  };
}
sample.inject = [];

/** Checkers get lines and columns from 0, reports have them from 1. */
function countedFromOne({ start, end }) {
  const next = ({ line, column }) => ({ line: line + 1, column: column + 1 });
  return { start: next(start), end: next(end) };
}

export const strykerPlugins = [{ kind: 'Checker', name: 'sample', factory: sample }];
