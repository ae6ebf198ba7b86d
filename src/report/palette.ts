/** The colours of the page: a small system, whose contrast and differences a test computes. */
export interface Palette {
  /** Behind everything, and behind plots, rows and panels. */
  readonly ground: string;
  readonly surface: string;
  readonly text: string;
  /** Text that comes second; thresholds and marks of plots. */
  readonly quiet: string;
  /** Grid and rules: they carry no meaning of their own. */
  readonly line: string;
  /** What a stretch is good for, and a clip with it. */
  readonly usable: string;
  readonly care: string;
  readonly bad: string;
  /** The camera as it was and as it is corrected: no colour of a state. */
  readonly before: string;
  readonly after: string;
}

/** By day, and on paper with a white ground. */
export const LIGHT: Palette = {
  ground: '#f4f4f1',
  surface: '#ffffff',
  text: '#1d2226',
  quiet: '#59616a',
  line: '#dcddd8',
  usable: '#1f7a62',
  care: '#cb8014',
  bad: '#861018',
  before: '#918c9b',
  after: '#1d2fb8',
};

/** By night. */
export const DARK: Palette = {
  ground: '#101417',
  surface: '#1b2024',
  text: '#e8eae8',
  quiet: '#a5aeb5',
  line: '#363e44',
  usable: '#86d0bb',
  care: '#f2b20a',
  bad: '#d63a26',
  before: '#9d94a3',
  after: '#5f66e6',
};

/** Custom properties of the style sheet: by the system, by the button, and light on paper. */
export function paletteCss(): string {
  const dark = `color-scheme:dark;${properties(DARK)}`;
  return `:root{color-scheme:light;${properties(LIGHT)}}
@media screen{:root[data-scheme="dark"]{${dark}}}
@media screen and (prefers-color-scheme:dark){:root:not([data-scheme="light"]){${dark}}}
@media print{:root{--ground:${LIGHT.surface}}}
`;
}

function properties(palette: Palette): string {
  return Object.entries(palette)
    .map(([name, value]) => `--${name}:${value};`)
    .join('');
}
