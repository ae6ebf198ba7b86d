import { filterFourStates } from './fourStateFilter.js';
import {
  type FilterRecord,
  filterStructure,
  layOut,
  observationAt,
  transition,
  transposedTransition,
} from './structuralFilter.js';
import type { StructuralModel } from './structuralModel.js';

/** The smoothed trend and the oscillators' part of the signal, one array each. */
export interface StructuralParts {
  readonly trend: Float64Array;
  readonly oscillations: readonly Float64Array[];
}

/** Log likelihood of a signal under a model, up to a constant; cost O(n · states²). */
export function logLikelihood(signal: Float64Array, model: StructuralModel): number {
  return filtered(signal, model, undefined);
}

/** A pass of the filter that fits the model best. */
function filtered(
  signal: Float64Array,
  model: StructuralModel,
  record: FilterRecord | undefined,
): number {
  const [only, ...more] = model.oscillators;
  return model.order === 2 && only && more.length === 0
    ? filterFourStates(signal, model, only, record)
    : filterStructure(signal, layOut(model), record);
}

/**
 * Trend and oscillations given the whole signal: Kalman filter forward, disturbance recursion
 * backward, states forward. Neither start nor end has a transient.
 *
 * @see Koopman, "Disturbance smoother for state space models", Biometrika 80(1), 1993
 */
export function smoothStructure(signal: Float64Array, model: StructuralModel): StructuralParts {
  const n = signal.length;
  const layout = layOut(model);
  const { size } = layout;
  const record: FilterRecord = {
    innovations: new Float64Array(n),
    variances: new Float64Array(n),
    gains: new Float64Array(n * size),
  };
  filtered(signal, model, record);

  // r(t − 1) = Z v/F + Lᵀ r(t) with L = T − K Z, kept for every t.
  const r = new Float64Array((n + 1) * size);
  const now = new Float64Array(size);
  const seen = new Float64Array(size);
  for (let t = n - 1; t >= 0; t--) {
    let innovation = record.innovations[t]! / record.variances[t]!;
    for (let i = 0; i < size; i++) innovation -= record.gains[t * size + i]! * now[i]!;
    transposedTransition(layout, now);
    observationAt(layout, t, seen);
    for (let i = 0; i < size; i++) now[i]! += innovation * seen[i]!;
    r.set(now, t * size);
  }
  // States forward: α(0) = a + P r(−1), then α(t + 1) = T α(t) + Q r(t).
  const state = new Float64Array(size);
  state[0] = signal[0]!;
  for (let i = 0; i < size; i++) state[i]! += layout.startVariance[i]! * r[i]!;
  const trend = new Float64Array(n);
  const oscillations = model.oscillators.map(() => new Float64Array(n));
  for (let t = 0; t < n; t++) {
    trend[t] = state[0]!;
    observationAt(layout, t, seen);
    for (let k = 0, i = layout.order; i < size; k++, i += 2) {
      oscillations[k]![t] = seen[i]! * state[i]! + seen[i + 1]! * state[i + 1]!;
    }
    if (t + 1 === n) break;
    transition(layout, state);
    const next = (t + 1) * size;
    state[layout.order - 1]! += layout.trendNoise[t]! * r[next + layout.order - 1]!;
    for (let i = layout.order; i < size; i++) state[i]! += layout.stateNoise[i]! * r[next + i]!;
  }
  return { trend, oscillations };
}
