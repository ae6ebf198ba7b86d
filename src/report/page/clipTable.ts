import { button, element } from './dom.js';
import type { Clip } from './motion.js';

/** One column of the table of clips. */
interface Column {
  readonly title: string;
  readonly unit?: string;
  readonly value: (clip: Clip) => number | string;
  readonly show?: (value: number) => string;
}

const VERDICT_ORDER = ['deliver', 'deliver with care', 'reshoot'];

const COLUMNS: readonly Column[] = [
  { title: 'clip', value: ({ name }) => name },
  {
    title: 'verdict',
    value: ({ verdict }) => VERDICT_ORDER.indexOf(verdict),
    show: (k) => VERDICT_ORDER[k]!,
  },
  { title: 'length', unit: 's', value: ({ durationS }) => durationS, show: (v) => v.toFixed(1) },
  { title: 'kind', value: ({ shot }) => shot },
  {
    title: 'steps left',
    unit: '°/s',
    value: ({ assessment }) => assessment.after.bandRmsDegPerS.steps,
    show: (v) => v.toFixed(2),
  },
  {
    title: 'horizon off',
    unit: '°',
    value: ({ assessment }) => assessment.after.horizonRmsDeg,
    show: (v) => v.toFixed(2),
  },
  {
    title: 'largest correction',
    unit: '°',
    value: ({ assessment }) => assessment.largestCorrectionDeg,
    show: (v) => v.toFixed(1),
  },
  {
    title: 'disparity',
    unit: 'arcmin',
    value: ({ rigAssessment }) => rigAssessment?.worstDisparityArcmin ?? Number.NaN,
    show: (v) => (Number.isNaN(v) ? '–' : v.toFixed(1)),
  },
];

/** The table of a shoot: sorted by its headers, a clip chosen by its name. */
export function clipTable(
  clips: readonly Clip[],
  choose: (clip: Clip) => void,
): { table: HTMLElement; mark: (clip: Clip) => void } {
  const body = element('tbody');
  const rows = new Map(
    clips.map((clip) => {
      const row = element('tr');
      for (const [k, { value, show }] of COLUMNS.entries()) {
        const found = value(clip);
        const text = typeof found === 'number' ? show!(found) : found;
        const cell = element('td', typeof found === 'number' && k > 1 ? { class: 'number' } : {});
        if (k === 0) cell.append(button(text, () => choose(clip)));
        else if (k === 1) cell.append(verdictBadge(clip.verdict));
        else cell.append(text);
        row.append(cell);
      }
      return [clip, row] as const;
    }),
  );
  const head = element('tr');
  let sorted: { column: number; up: boolean } = { column: -1, up: true };
  const sort = (column: number) => {
    sorted = { column, up: sorted.column === column ? !sorted.up : true };
    const { value } = COLUMNS[column]!;
    const order = [...clips].sort((a, b) => {
      const [x, y] = [value(a), value(b)];
      const difference =
        typeof x === 'number' && typeof y === 'number'
          ? (Number.isNaN(x) ? Infinity : x) - (Number.isNaN(y) ? Infinity : y)
          : String(x).localeCompare(String(y));
      return (sorted.up ? 1 : -1) * (Number.isNaN(difference) ? 0 : difference);
    });
    body.append(...order.map((clip) => rows.get(clip)!));
    head.querySelectorAll('th').forEach((cell, k) => {
      cell.setAttribute(
        'aria-sort',
        k !== column ? 'none' : sorted.up ? 'ascending' : 'descending',
      );
    });
  };
  for (const [k, { title, unit }] of COLUMNS.entries()) {
    head.append(
      element(
        'th',
        { scope: 'col', 'aria-sort': 'none' },
        button(unit ? `${title}, ${unit}` : title, () => sort(k)),
      ),
    );
  }
  body.append(...rows.values());
  const table = element(
    'section',
    { 'aria-label': 'all clips' },
    element('p', { class: 'hint' }, 'All clips; a header sorts, a name shows the clip below.'),
    element('div', { class: 'table' }, element('table', {}, element('thead', {}, head), body)),
  );
  const mark = (chosen: Clip) => {
    for (const [clip, row] of rows) {
      if (clip === chosen) row.setAttribute('aria-current', 'true');
      else row.removeAttribute('aria-current');
    }
  };
  return { table, mark };
}

const SIGNS: Readonly<Record<Clip['verdict'], string>> = {
  deliver: '✓',
  'deliver with care': '!',
  reshoot: '✗',
};

/** The verdict with a sign that needs no colour. */
export function verdictBadge(verdict: Clip['verdict']): HTMLElement {
  const sign = element('span', { 'aria-hidden': 'true' }, SIGNS[verdict]);
  const name = verdict.replace(/ /g, '-');
  return element('span', { class: `verdict ${name}` }, sign, ` ${verdict}`);
}
