import type { Preview } from './preview.js';

/** What keys do. */
export interface KeyTargets {
  /** The preview of the clip that is open. */
  readonly preview: () => Preview | undefined;
  readonly worst: () => void;
  /** Back to all clips. */
  readonly leave: () => void;
  /** To another clip, or another row of the list. */
  readonly move: (by: 1 | -1) => void;
}

/** Keys work wherever the focus is, but where text or a choice is typed and where a part has its own. */
export function listenToKeys({ preview, worst, leave, move }: KeyTargets): void {
  addEventListener('keydown', (event) => {
    // With Ctrl or the like the same keys are the browser's own zoom and history.
    if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    const target = event.target instanceof Element ? event.target : undefined;
    if (target?.closest('input, select, textarea')) return;
    // A space presses the button that has the focus.
    if (event.key === ' ' && target?.closest('button, a')) return;
    const actions: Readonly<Record<string, () => void>> = {
      Escape: leave,
      ArrowLeft: () => move(-1),
      ArrowRight: () => move(1),
      k: () => move(-1),
      j: () => move(1),
      ...actionsOf(preview(), worst),
    };
    const action = actions[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (!action) return;
    event.preventDefault();
    action();
  });
}

function actionsOf(preview: Preview | undefined, worst: () => void): Record<string, () => void> {
  if (!preview) return {};
  return {
    ' ': () => preview.toggle(),
    p: () => preview.toggle(),
    ',': () => preview.step(-1),
    '.': () => preview.step(1),
    '1': () => preview.choose('before'),
    '2': () => preview.choose('after'),
    '3': () => preview.choose('split'),
    l: () => preview.flip('level'),
    v: () => preview.flip('whole'),
    m: () => preview.flip('mask'),
    w: worst,
  };
}
