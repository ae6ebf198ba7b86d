/**
 * Values with their first three derivatives: [f, f′, f″, f‴]. Enough of Taylor's arithmetic to bound
 * how a map bends.
 */
export type Jet = readonly [value: number, first: number, second: number, third: number];

/** The product, by Leibniz' rule. */
export function multiplyJets(f: Jet, g: Jet): Jet {
  return [
    f[0] * g[0],
    f[1] * g[0] + f[0] * g[1],
    f[2] * g[0] + 2 * f[1] * g[1] + f[0] * g[2],
    f[3] * g[0] + 3 * f[2] * g[1] + 3 * f[1] * g[2] + f[0] * g[3],
  ];
}

/** 1/f. */
export function reciprocalJet([f, f1, f2, f3]: Jet): Jet {
  const r = 1 / f;
  const r1 = -f1 * r * r;
  const r2 = -(f2 * r + 2 * f1 * r1) * r;
  const r3 = -(f3 * r + 3 * f2 * r1 + 3 * f1 * r2) * r;
  return [r, r1, r2, r3];
}

/** f(g), with f's derivatives taken at g's value, by Faà di Bruno's rule. */
export function composeJets(f: Jet, g: Jet): Jet {
  return [
    f[0],
    f[1] * g[1],
    f[2] * g[1] ** 2 + f[1] * g[2],
    f[3] * g[1] ** 3 + 3 * f[2] * g[1] * g[2] + f[1] * g[3],
  ];
}

/** The inverse function, at f's value: its derivatives are 1/f′ and so on. */
export function inverseJet(at: number, [, f1, f2, f3]: Jet): Jet {
  return [at, 1 / f1, -f2 / f1 ** 3, (3 * f2 * f2 - f1 * f3) / f1 ** 5];
}

/** A sum, each term with its factor. */
export function addJets(terms: readonly (readonly [factor: number, jet: Jet])[]): Jet {
  const sum: [number, number, number, number] = [0, 0, 0, 0];
  for (const [factor, jet] of terms) for (let k = 0; k < 4; k++) sum[k]! += factor * jet[k]!;
  return sum;
}

/** sin(√t)/√t and its derivatives by t: Σ (−t)ⁿ/(2n+1)!, an entire function. */
export function sincOfRoot(t: number): Jet {
  return seriesOf(t, (n) => -1 / ((2 * n + 2) * (2 * n + 3)));
}

/** cos(√t) and its derivatives by t: Σ (−t)ⁿ/(2n)!. */
export function cosOfRoot(t: number): Jet {
  return seriesOf(t, (n) => -1 / ((2 * n + 1) * (2 * n + 2)));
}

/** Σ aₙ tⁿ with a₀ = 1 and aₙ₊₁ = aₙ · ratio(n). Thirty terms reach the last digit up to t = 40. */
function seriesOf(t: number, ratio: (n: number) => number): Jet {
  const sum: [number, number, number, number] = [0, 0, 0, 0];
  let a = 1;
  for (let n = 0; n < 30; n++) {
    sum[0] += a * t ** n;
    if (n > 0) sum[1] += n * a * t ** (n - 1);
    if (n > 1) sum[2] += n * (n - 1) * a * t ** (n - 2);
    if (n > 2) sum[3] += n * (n - 1) * (n - 2) * a * t ** (n - 3);
    a *= ratio(n);
  }
  return sum;
}
