import { button, element } from './dom.js';

/** How to see page and proxy in a headset that stands alone (our judgement). */
export const INTO_A_HEADSET =
  'Into a stand-alone headset: copy this page and the proxy to it over USB and open the page with its browser’s access to files; or, since browsers mostly give the headset to https pages only, serve both from a small web server with https on the same network.';

/** The button that enters, and a sentence on why it cannot where it cannot. */
export function headsetButton(enter: () => void): HTMLElement {
  const made = button('Enter headset', enter);
  const why = element('span', { class: 'quiet', id: 'headset-why' }, 'Looking for a headset…');
  made.disabled = true;
  made.setAttribute('aria-describedby', 'headset-why');
  reasonAgainst().then((reason) => {
    made.disabled = reason !== undefined;
    why.textContent =
      reason ?? 'A headset is there: sit down, and stop at the first sign of discomfort.';
  });
  return element('div', { class: 'headset' }, made, ' ', why);
}

/** Why there is no headset here, or undefined where there is one. */
async function reasonAgainst(): Promise<string | undefined> {
  if (!isSecureContext) {
    return 'Off: this page came over a connection without encryption, and browsers give the headset to https pages only.';
  }
  if (!navigator.xr) {
    const file = location.protocol === 'file:' ? ', or keeps it from pages opened as a file' : '';
    return `Off: this browser has no WebXR${file}.`;
  }
  try {
    return (await navigator.xr.isSessionSupported('immersive-vr'))
      ? undefined
      : 'Off: no headset is connected to this machine, or its software is not running.';
  } catch (error) {
    return `Off: the browser keeps the headset from this page (${(error as Error).message}).`;
  }
}
