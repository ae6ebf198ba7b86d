import { isFailed, type PageData } from './pageData.js';
import { paletteCss } from './palette.js';

/** The parts that the build makes of `report/page/`. */
export interface PageParts {
  readonly script: string;
  readonly style: string;
}

/**
 * The whole page as one text: it fetches nothing, works from disk and keeps everything it is shown
 * on the machine, which its content policy enforces.
 */
export function reportHtml(data: PageData, { script, style }: PageParts): string {
  // A closing tag or a comment inside the data would end the element that holds it.
  const json = JSON.stringify(data).replace(/</g, '\\u003c');
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:; media-src blob:">
<title>${escapeHtml(titleOf(data))}</title>
<link rel="icon" href="data:,">
<style>${paletteCss()}${style}</style>
</head>
<body>
<div id="page"><main><noscript>This page draws its plots with JavaScript; the figures are also in STEM.result.json.</noscript></main></div>
<script type="application/json" id="clips">${json}</script>
<script>${script.replace(/<\/script/gi, '<\\/script')}</script>
</body>
</html>
`;
}

function titleOf({ clips }: PageData): string {
  const [only] = clips;
  if (clips.length === 1 && !isFailed(only!)) return `${only!.name}: ${only!.verdict}`;
  return `Shoot report: ${clips.length} clips`;
}

function escapeHtml(text: string): string {
  return text.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/>/g, '&gt;');
}
