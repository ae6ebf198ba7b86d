/**
 * Compares names as people count: take-2 before take-10. Where that says nothing (take-2, take-02,
 * Take-2) the bytes decide, so that the order is the same on every machine.
 */
export function byNaturalOrder(a: string, b: string): number {
  return collator().compare(a, b) || (a < b ? -1 : Number(a > b));
}

let made: Intl.Collator | undefined;

/** Made when first asked for: many a call compares no names, and making it takes some 10 ms. */
function collator(): Intl.Collator {
  // A fixed language: the order must not hang on that of the machine.
  made ??= new Intl.Collator('en', { numeric: true, sensitivity: 'base' });
  return made;
}

/** Compares paths folder by folder: files of one folder stay together. */
export function byNaturalPath(a: string, b: string): number {
  const [first, second] = [a.split('/'), b.split('/')];
  const shared = Math.min(first.length, second.length);
  for (let k = 0; k < shared; k++) {
    const order = byNaturalOrder(first[k]!, second[k]!);
    if (order !== 0) return order;
  }
  return first.length - second.length;
}
