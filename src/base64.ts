/** Both exist in browsers and in Node, and in none of the type libraries the core is built with. */
const { btoa: encodeBinary, atob: decodeBinary } = globalThis as unknown as {
  btoa: (binary: string) => string;
  atob: (text: string) => string;
};

/** Bytes as base64 text. */
export function toBase64(bytes: Uint8Array): string {
  let binary = '';
  // String.fromCharCode takes its arguments from the stack, which holds some tens of thousands.
  for (let k = 0; k < bytes.length; k += 8192) {
    binary += String.fromCharCode(...bytes.subarray(k, k + 8192));
  }
  return encodeBinary(binary);
}

/** Bytes of a base64 text; throws where it is none. */
export function fromBase64(text: string): Uint8Array {
  return Uint8Array.from(decodeBinary(text), (character) => character.charCodeAt(0));
}
