/** What tells the files of one take from each other, and is no part of its name. */
const SUFFIX =
  /(?:[ ._-]+(?:tracks?|tracker|tracked|orientations?|poses?|gyro|imu|accel|log|motion|movie|video))+$/;

/**
 * The name that the files of one take share: `Aisle_gyro.csv`, `aisle.track.csv` and `AISLE.MOV` are
 * all of `aisle`. Capitals, accents written as one letter or two, the ending and known suffixes do
 * not count.
 *
 * @param path - with `/` between folders
 */
export function takeOf(path: string): string {
  const name = path.slice(path.lastIndexOf('/') + 1);
  const whole = name
    .replace(/\.[^.]*$/, '')
    .normalize('NFC')
    .toLowerCase()
    .trim();
  return whole.replace(SUFFIX, '') || whole;
}
