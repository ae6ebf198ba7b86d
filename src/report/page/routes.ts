/** The addresses of a page's clips: `#aisle`; clips of one name are told apart by a number. */
export function addressesOf(names: readonly string[]): string[] {
  const taken = new Set<string>();
  return names.map((name) => {
    // Half a pair of surrogates has no place in an address.
    const base = encodeURIComponent(name.replace(/[\ud800-\udfff]/gu, '�')) || 'clip';
    let address = base;
    for (let k = 2; taken.has(address); k++) address = `${base}~${k}`;
    taken.add(address);
    return address;
  });
}
