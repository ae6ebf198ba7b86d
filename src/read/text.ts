/** The parts of the Encoding Standard that every browser and Node provide as globals. */
declare const TextDecoder: new (label: string) => { decode(bytes: Uint8Array): string };
declare const TextEncoder: new () => { encode(text: string): Uint8Array };

let decoder: { decode(bytes: Uint8Array): string } | undefined;

/** Text of UTF-8 bytes; malformed sequences become replacement characters. */
export function decodeText(bytes: Uint8Array): string {
  decoder ??= new TextDecoder('utf-8');
  return decoder.decode(bytes);
}

/** UTF-8 bytes of a text; bytes pass through. */
export function encodeText(input: string | Uint8Array): Uint8Array {
  return typeof input === 'string' ? new TextEncoder().encode(input) : input;
}
