/** Words for units as exporters write them below a header, with or without brackets. */
const UNIT =
  /^[([{<]?\s*((?:|milli|micro|nano)s(?:ec(?:ond)?s?)?|[mun]s(?:ec)?|µs|μs|hz|rad(?:ian)?s?|deg(?:ree)?s?|°|(?:rad(?:ian)?s?|deg(?:ree)?s?|°)\/s(?:ec(?:ond)?)?|dps|m\/s(?:ec)?(?:\^?2|²|\/s)|g|mg|m|mm|cm|µt|ut|°c|degc|counts?|lsb|frames?|none|n\/a|hh:mm:ss[:;]ff|-|1)\s*[)\]}>]?$/i;

/**
 * Whether the cells of a line are the units of the columns above: each is a word for a unit or
 * empty, and one at least is a word. Such a line holds no data and is no row.
 */
export function isUnitRow(cells: readonly string[]): boolean {
  const words = cells.map((cell) => cell.trim()).filter((cell) => cell !== '');
  const named = words.some((word) => /[a-z°µμ]/i.test(word));
  return named && words.every((word) => UNIT.test(word));
}
