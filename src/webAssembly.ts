/** In browsers and in Node, and in none of the type libraries the core is built with. */
interface WebAssemblyApi {
  readonly Memory: new (size: { initial: number }) => { readonly buffer: ArrayBuffer };
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object, imports: object) => { readonly exports: unknown };
}

/** A module at work. */
export interface WebAssemblyInstance {
  readonly buffer: ArrayBuffer;
  readonly exports: unknown;
}

const PAGE = 65536;

/**
 * Starts a module that takes its memory from outside.
 *
 * @param size - of its memory, bytes
 * @returns nothing where this machine does not know its instructions, or has no room
 */
export function startWebAssembly(bytes: Uint8Array, size: number): WebAssemblyInstance | undefined {
  const { WebAssembly } = globalThis as unknown as { WebAssembly?: WebAssemblyApi };
  if (!WebAssembly) return undefined;
  try {
    const memory = new WebAssembly.Memory({ initial: Math.ceil(size / PAGE) });
    const module = new WebAssembly.Module(bytes);
    const { exports } = new WebAssembly.Instance(module, { env: { memory } });
    return { buffer: memory.buffer, exports };
  } catch {
    return undefined;
  }
}
