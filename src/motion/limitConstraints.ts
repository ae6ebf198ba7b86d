import type { LimitProblem } from './limitProblem.js';

/**
 * Every bound at every watched sample as one list of constraints c(x) = s with slacks s > 0 and multipliers
 * z > 0. With d the bounded components of e = e₀ + J x less the centre, and M ones at them,
 *
 *   c = most² − |d|²,   ∇c = −2 Jᵀd,   ∇²c = −2 JᵀMJ.
 */
export interface Constraints {
  readonly count: number;
  /** Which of the watched samples each constrains. */
  readonly places: Int32Array;
  /** Where its multiplier stands in a list with one for every bound of every watched sample. */
  readonly entries: Int32Array;
  /** Which components of its correction, the bits 1, 2 and 4. */
  readonly parts: Uint8Array;
  /** Centre of the bound, zero at the other components; length 3 · count. */
  readonly centres: Float64Array;
  readonly squares: Float64Array;
  /** s. */
  readonly slacks: Float64Array;
  /** z. */
  readonly multipliers: Float64Array;
  /** c − s at the corrections that were last measured. */
  readonly misses: Float64Array;
  /** What a whole step adds to slacks and multipliers. */
  readonly slackSteps: Float64Array;
  readonly multiplierSteps: Float64Array;
}

/** The constraints of a problem, without those that ask nothing. */
export function constraintsOf({ bounds }: LimitProblem): Constraints {
  let count = 0;
  for (const { most } of bounds) {
    for (const value of most) if (value < Number.POSITIVE_INFINITY) count++;
  }
  const constraints = {
    count,
    places: new Int32Array(count),
    entries: new Int32Array(count),
    parts: new Uint8Array(count),
    centres: new Float64Array(3 * count),
    squares: new Float64Array(count),
    slacks: new Float64Array(count),
    multipliers: new Float64Array(count),
    misses: new Float64Array(count),
    slackSteps: new Float64Array(count),
    multiplierSteps: new Float64Array(count),
  };
  let c = 0;
  // Sample by sample, so that the corrections pass through the cache once.
  for (let p = 0; c < count; p++) {
    for (const [b, { parts, centre, most }] of bounds.entries()) {
      if (most[p] === Number.POSITIVE_INFINITY) continue;
      constraints.places[c] = p;
      constraints.entries[c] = bounds.length * p + b;
      constraints.squares[c] = most[p]! * most[p]!;
      for (const [j, part] of parts.entries()) {
        constraints.parts[c]! |= 1 << part;
        if (centre) constraints.centres[3 * c + part] = centre[j]![p]!;
      }
      c++;
    }
  }
  return constraints;
}

/** Sets the misses to c − s at corrections e. */
export function measureMisses(
  { count, places, parts, centres, squares, slacks, misses }: Constraints,
  e: Float64Array,
): void {
  for (let c = 0; c < count; c++) {
    const i = 3 * places[c]!;
    let room = squares[c]!;
    for (let part = 0; part < 3; part++) {
      if ((parts[c]! & (1 << part)) === 0) continue;
      const off = e[i + part]! - centres[3 * c + part]!;
      room -= off * off;
    }
    misses[c] = room - slacks[c]!;
  }
}

/** Lets slacks be c itself where that is larger than a share of them, and positive. */
export function settleSlacks({ count, slacks, misses }: Constraints, share: number): void {
  for (let c = 0; c < count; c++) {
    const room = slacks[c]! + misses[c]!;
    if (!(room > share * slacks[c]!)) continue;
    slacks[c] = room;
    misses[c] = 0;
  }
}

/** How far beyond its bound the worst constraint lies, as a share of its square. */
export function worstViolation({ count, squares, slacks, misses }: Constraints): number {
  let worst = 0;
  for (let c = 0; c < count; c++) {
    worst = Math.max(worst, -(slacks[c]! + misses[c]!) / squares[c]!);
  }
  return worst;
}

/**
 * out −= Σ weight · ∇c: what constraints pull at the deviations. With the multipliers as weights it
 * makes the gradient of f that of the Lagrangian f − Σ z c.
 */
export function addPulls(
  { count, places, parts, centres }: Constraints,
  weights: Float64Array,
  e: Float64Array,
  { watched, jacobians }: LimitProblem,
  out: Float64Array,
): void {
  for (let c = 0; c < count; ) {
    const p = places[c]!;
    const i = 3 * p;
    let x = 0;
    let y = 0;
    let z = 0;
    for (; c < count && places[c] === p; c++) {
      const twice = 2 * weights[c]!;
      const bits = parts[c]!;
      if (bits & 1) x += twice * (e[i]! - centres[3 * c]!);
      if (bits & 2) y += twice * (e[i + 1]! - centres[3 * c + 1]!);
      if (bits & 4) z += twice * (e[i + 2]! - centres[3 * c + 2]!);
    }
    const j = 9 * p;
    const k = 3 * watched[p]!;
    out[k]! += jacobians[j]! * x + jacobians[j + 3]! * y + jacobians[j + 6]! * z;
    out[k + 1]! += jacobians[j + 1]! * x + jacobians[j + 4]! * y + jacobians[j + 7]! * z;
    out[k + 2]! += jacobians[j + 2]! * x + jacobians[j + 5]! * y + jacobians[j + 8]! * z;
  }
}

/**
 * What constraints add to Newton's matrix: Σ −z ∇²c + (z/s) ∇c ∇cᵀ = Jᵀ (Σ 2 z M + (4 z/s) d dᵀ) J.
 *
 * @param out - receives xx, xy, yy, xz, yz, zz of each sample, zero where it is not watched; length 6n
 */
export function curvatureOf(
  { count, places, parts, centres, slacks, multipliers }: Constraints,
  e: Float64Array,
  { watched, jacobians }: LimitProblem,
  out: Float64Array,
): void {
  out.fill(0);
  for (let c = 0; c < count; ) {
    const p = places[c]!;
    const i = 3 * p;
    let xx = 0;
    let xy = 0;
    let yy = 0;
    let xz = 0;
    let yz = 0;
    let zz = 0;
    for (; c < count && places[c] === p; c++) {
      const bits = parts[c]!;
      const twice = 2 * multipliers[c]!;
      const dx = bits & 1 ? e[i]! - centres[3 * c]! : 0;
      const dy = bits & 2 ? e[i + 1]! - centres[3 * c + 1]! : 0;
      const dz = bits & 4 ? e[i + 2]! - centres[3 * c + 2]! : 0;
      const steep = (2 * twice) / slacks[c]!;
      xx += steep * dx * dx + (bits & 1 ? twice : 0);
      xy += steep * dx * dy;
      yy += steep * dy * dy + (bits & 2 ? twice : 0);
      xz += steep * dx * dz;
      yz += steep * dy * dz;
      zz += steep * dz * dz + (bits & 4 ? twice : 0);
    }
    const j = 9 * p;
    for (let column = 0, o = 6 * watched[p]!; column < 3; column++) {
      const a = jacobians[j + column]!;
      const b = jacobians[j + 3 + column]!;
      const f = jacobians[j + 6 + column]!;
      const u = xx * a + xy * b + xz * f;
      const v = xy * a + yy * b + yz * f;
      const w = xz * a + yz * b + zz * f;
      for (let row = 0; row <= column; row++, o++) {
        out[o] =
          jacobians[j + row]! * u + jacobians[j + 3 + row]! * v + jacobians[j + 6 + row]! * w;
      }
    }
  }
}

/**
 * Steps of slacks and multipliers along with one of the corrections that aims at products s z of the
 * given size: ∇c·step + miss for s, which makes c = s, and (aim − s z − z · step of s)/s for z.
 */
export function stepAlong(
  constraints: Constraints,
  e: Float64Array,
  step: Float64Array,
  aims: Float64Array,
): void {
  const { count, places, parts, centres, slacks, multipliers, misses } = constraints;
  for (let c = 0; c < count; c++) {
    const i = 3 * places[c]!;
    let by = misses[c]!;
    for (let part = 0; part < 3; part++) {
      if ((parts[c]! & (1 << part)) === 0) continue;
      by -= 2 * step[i + part]! * (e[i + part]! - centres[3 * c + part]!);
    }
    const z = multipliers[c]!;
    constraints.slackSteps[c] = by;
    constraints.multiplierSteps[c] = (aims[c]! - z * by) / slacks[c]! - z;
  }
}

/** How far values may go along their steps, at most 1, so that none loses more than a share of itself. */
export function longestStep(values: Float64Array, steps: Float64Array, share: number): number {
  let length = 1;
  for (let c = 0; c < values.length; c++) {
    const step = steps[c]!;
    if (-length * step > share * values[c]!) length = (-share * values[c]!) / step;
  }
  return length;
}

/** Σ s z after steps of these lengths: what the bounds may still be worth. */
export function gapAfter(
  { count, slacks, multipliers, slackSteps, multiplierSteps }: Constraints,
  ofSlacks: number,
  ofMultipliers: number,
): number {
  let sum = 0;
  for (let c = 0; c < count; c++) {
    const slack = slacks[c]! + ofSlacks * slackSteps[c]!;
    sum += slack * (multipliers[c]! + ofMultipliers * multiplierSteps[c]!);
  }
  return sum;
}
