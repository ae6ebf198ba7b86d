/** Text or elements inside an element. */
export type Child = Node | string;

/** A new element with attributes and children; text is always text, never markup. */
export function element<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Readonly<Record<string, string>> = {},
  ...children: readonly Child[]
): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

/** The same for drawings. */
export function drawing<K extends keyof SVGElementTagNameMap>(
  tag: K,
  attributes: Readonly<Record<string, string | number>> = {},
  ...children: readonly Node[]
): SVGElementTagNameMap[K] {
  const made = document.createElementNS('http://www.w3.org/2000/svg', tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, String(value));
  made.append(...children);
  return made;
}

/**
 * A button that does something. One that a pointer pressed gives the focus back, so that the next
 * space is the page's own; with the keyboard the focus stays.
 */
export function button(label: Child, action: () => void): HTMLButtonElement {
  const made = element('button', { type: 'button' }, label);
  made.addEventListener('click', ({ detail }) => {
    if (detail > 0) made.blur();
    action();
  });
  return made;
}

/** The colour that a custom property of the style sheet holds now. */
export function colour(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
}
