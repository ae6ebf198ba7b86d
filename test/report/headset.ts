import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);

/** A headset of nobody's make, with two eyes and a head at rest. */
export function headset(): string {
  const emulation = require.resolve('iwer');
  const script = readFileSync(new URL('../build/iwer.min.js', `file://${emulation}`), 'utf8');
  return `${script}
    globalThis.device = new IWER.XRDevice({
      name: 'test headset',
      controllerConfig: undefined,
      supportedSessionModes: ['inline', 'immersive-vr'],
      supportedFeatures: ['viewer', 'local'],
      supportedFrameRates: [72],
      isSystemKeyboardSupported: false,
      internalNominalFrameRate: 72,
      environmentBlendModes: { 'immersive-vr': 'opaque' },
      interactionMode: 'world-space',
      userAgent: navigator.userAgent,
    }, { stereoEnabled: true });
    device.installRuntime({ forceInstall: true });
    looking.watchHeadset();`;
}
