/** Words for units as exporters write them below a header, with or without brackets. */
const UNIT =
  /^[([]?\s*(s|sec|secs|seconds?|ms|us|µs|μs|ns|hz|rad|deg|°|rad\/s|deg\/s|°\/s|dps|m\/s\^?2|m\/s²|m\/s\/s|g|mg|m|mm|cm|µt|ut|counts?|lsb|-|1)\s*[)\]]?$/i;

/**
 * Whether the cells of a line are the units of the columns above: each is a word for a unit or
 * empty, and one at least is a word. Such a line holds no data and is no row.
 */
export function isUnitRow(cells: readonly string[]): boolean {
  const words = cells.map((cell) => cell.trim()).filter((cell) => cell !== '');
  const named = words.some((word) => /[a-z°µμ]/i.test(word));
  return named && words.every((word) => UNIT.test(word));
}
