import { distance } from 'fastest-levenshtein';

/**
 * The word of a list that was probably meant: the one with the fewest letters added, left out or
 * changed (Levenshtein distance), capitals aside; undefined where none is near.
 *
 * @param written - what was found; of anything longer than a word nothing is meant
 * @param words - what could have been written
 * @example
 * nearestWord('travelin', ['auto', 'travelling', 'pan']); // 'travelling'
 */
export function nearestWord(written: string, words: readonly string[]): string | undefined {
  if (written === '' || written.length > LONGEST) return undefined;
  const plain = written.toLowerCase();
  let best: string | undefined;
  let least = Number.POSITIVE_INFINITY;
  for (const word of words) {
    const edits = editsBetween(plain, word.toLowerCase());
    // Of short words every other one is near.
    if (edits < least && edits <= Math.max(1, Math.floor(word.length / 3))) {
      best = word;
      least = edits;
    }
  }
  return best;
}

/** Letters added, left out or changed; all letters there in another order count as one slip. */
function editsBetween(written: string, word: string): number {
  const sorted = (text: string) => [...text].sort().join('');
  return written !== word && sorted(written) === sorted(word) ? 1 : distance(written, word);
}

/** Letters of a word worth comparing. */
const LONGEST = 60;

/** What to do about a word that was probably meant otherwise; undefined where none is near. */
export function meant(
  written: string,
  words: readonly string[],
  quoted: (word: string) => string = (word) => `"${word}"`,
): string | undefined {
  const word = nearestWord(written, words);
  return word === undefined ? undefined : `write ${quoted(word)} if that was meant`;
}
