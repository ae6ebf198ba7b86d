/** Texts that look like decimal numbers and are none. */
export const NO_NUMBERS = [
  ...['', '-', '+', '.', '-.', 'e5', '.e5', '1e', '1e+', '1e5.', '1e5e5'],
  ...['1.2.3', '--1', '+-1', '0x1', '1_0', '1 2', 'NaN', '\u0661'],
];
