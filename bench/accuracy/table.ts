/** Prints a table: the first column is text, numbers with three decimals. */
export function printTable(
  title: string,
  header: readonly string[],
  rows: readonly (readonly (string | number)[])[],
): void {
  const cells = [
    header.map(String),
    ...rows.map((row) => row.map((cell) => (typeof cell === 'number' ? cell.toFixed(3) : cell))),
  ];
  const widths = header.map((_, c) => Math.max(...cells.map((row) => row[c]?.length ?? 0)));
  console.log(title);
  for (const row of cells) {
    console.log(
      row
        .map((cell, c) => (c === 0 ? cell.padEnd(widths[c]!) : cell.padStart(widths[c]!)))
        .join('  '),
    );
  }
  console.log();
}
