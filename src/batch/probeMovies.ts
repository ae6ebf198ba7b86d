import { join } from 'node:path';
import { isTwinkeelError } from '../error.js';
import { glanceAtMovie, type MovieGlance } from '../files/movie.js';

/** A movie of a shoot, and what its head says where ffprobe could tell. */
export interface FoundMovie {
  /** From the folder of the shoot, with `/` between folders. */
  readonly path: string;
  readonly glance?: MovieGlance;
}

/** ffprobe starts in a tenth of a second and mostly waits for the disk (our judgement). */
const AT_ONCE = 4;

/**
 * Reads the heads of movies with ffprobe where it is there; the movies stay without.
 *
 * @param ffprobe - name or path of the program
 * @returns the movies in their order, and notes on what could not be read; a file with the head of a
 *   movie and no picture in it (sound alone) is left out
 */
export async function probeMovies(
  folder: string,
  movies: readonly { readonly path: string }[],
  ffprobe: string,
): Promise<{ readonly movies: readonly FoundMovie[]; readonly notes: readonly string[] }> {
  const found: (FoundMovie | undefined)[] = movies.map(({ path }) => ({ path }));
  const notes: string[] = [];
  let missing = false;
  let next = 0;
  const work = async () => {
    while (next < movies.length && !missing) {
      const k = next++;
      const { path } = movies[k]!;
      try {
        found[k] = { path, glance: await glanceAtMovie(join(folder, path), ffprobe) };
      } catch (error) {
        if (isTwinkeelError(error)) {
          notes.push(`${path}: left out: found ${error.found}`);
          found[k] = undefined;
        } else if ((error as NodeJS.ErrnoException).syscall?.startsWith('spawn')) missing = true;
        else throw error;
      }
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, work));
  if (missing) {
    notes.push(
      `no ffprobe that runs as "${ffprobe}": movies are paired by their names alone, and what they say of rate, frames and time code is left out`,
    );
  }
  return { movies: found.filter((movie) => movie !== undefined), notes: notes.sort() };
}
