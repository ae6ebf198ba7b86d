import { TwinkeelError } from '../error.js';
import { POINT, scanNumber } from '../read/scanNumber.js';
import { decodeText } from '../read/text.js';

/** The lists of a result that are as long as the clip. */
export const LONG_LISTS = ['frames', 'times', 'corrections', 'intended'] as const;

/** A result's text taken apart. */
export interface ScannedResult {
  /** The text with every long list empty. */
  readonly rest: string;
  /** The numbers of the long lists that stand in it. */
  readonly lists: Readonly<Partial<Record<(typeof LONG_LISTS)[number], Float64Array>>>;
}

const [QUOTE, BACKSLASH, COLON, COMMA] = [34, 92, 58, 44];
const [OPEN_LIST, CLOSE_LIST, OPEN_OBJECT, CLOSE_OBJECT] = [91, 93, 123, 125];

/** A number has at most some 25 characters; a longer word is none. */
const LONGEST_NUMBER = 64;

/**
 * Takes a result's JSON apart as it comes in pieces, so that neither its text nor a list of boxed
 * numbers is ever held whole: the long lists of the outermost object become doubles at once. What is
 * left is small and says, parsed, whether all of it was JSON.
 */
export class ResultScanner {
  private rest = new Uint8Array(1 << 16);
  private restLength = 0;
  private depth = 0;
  private inString = false;
  private escaped = false;
  /** Where the last string of the outermost object starts in the rest, and whether a colon followed. */
  private keyStart = 0;
  private keyEnd = 0;
  private key: string | undefined;
  private list: NumberList | undefined;
  private word = new Uint8Array(LONGEST_NUMBER);
  private wordLength = 0;
  private readonly found: Partial<Record<string, NumberList>> = {};
  private readonly form = new Int32Array(1);

  /** Takes the next bytes. */
  push(bytes: Uint8Array): void {
    for (let i = 0; i < bytes.length; i++) {
      const byte = bytes[i]!;
      if (this.list) this.inList(byte);
      else if (this.inString) this.inText(byte);
      else this.outside(byte);
    }
  }

  /** What the pieces held. */
  finish(): ScannedResult {
    const rest = decodeText(this.rest.subarray(0, this.restLength));
    const lists = Object.fromEntries(
      Object.entries(this.found).map(([name, list]) => [name, list!.values()]),
    );
    return { rest, lists };
  }

  private outside(byte: number): void {
    if (byte === QUOTE) {
      this.inString = true;
      this.keyStart = this.restLength + 1;
    } else if (byte === OPEN_OBJECT || byte === OPEN_LIST) {
      this.depth++;
      if (byte === OPEN_LIST && this.depth === 2 && this.key !== undefined) {
        this.list = new NumberList();
        this.found[this.key] = this.list;
      }
    } else if (byte === CLOSE_OBJECT || byte === CLOSE_LIST) this.depth--;
    if (byte === COLON && this.depth === 1) {
      const name = decodeText(this.rest.subarray(this.keyStart, this.keyEnd));
      this.key = LONG_LISTS.find((each) => each === name);
    } else if (byte > 32) this.key = undefined;
    this.keep(byte);
  }

  private inText(byte: number): void {
    if (this.escaped) this.escaped = false;
    else if (byte === BACKSLASH) this.escaped = true;
    else if (byte === QUOTE) {
      this.inString = false;
      this.keyEnd = this.restLength;
    }
    this.keep(byte);
  }

  private inList(byte: number): void {
    if (byte !== COMMA && byte !== CLOSE_LIST) {
      // Blanks around a number fall away; within one they make it none.
      if (byte > 32 || this.wordLength > 0) {
        if (this.wordLength === LONGEST_NUMBER) throw notANumber(decodeText(this.word));
        this.word[this.wordLength++] = byte;
      }
      return;
    }
    const list = this.list!;
    while (this.wordLength > 0 && this.word[this.wordLength - 1]! <= 32) this.wordLength--;
    const isEmpty = this.wordLength === 0 && byte === CLOSE_LIST && list.length === 0;
    if (!isEmpty) {
      const value = scanNumber(this.word, 0, this.wordLength, POINT, this.form);
      if (!Number.isFinite(value)) {
        throw notANumber(decodeText(this.word.subarray(0, this.wordLength)));
      }
      list.push(value);
    }
    this.wordLength = 0;
    if (byte === COMMA) return;
    this.list = undefined;
    this.depth--;
    this.keep(CLOSE_LIST);
  }

  private keep(byte: number): void {
    if (this.restLength === this.rest.length) {
      const grown = new Uint8Array(2 * this.rest.length);
      grown.set(this.rest);
      this.rest = grown;
    }
    this.rest[this.restLength++] = byte;
  }
}

/** Doubles in memory that grows. */
class NumberList {
  length = 0;
  private room = new Float64Array(4096);

  push(value: number): void {
    if (this.length === this.room.length) {
      const grown = new Float64Array(2 * this.length);
      grown.set(this.room);
      this.room = grown;
    }
    this.room[this.length++] = value;
  }

  values(): Float64Array {
    return this.room.slice(0, this.length);
  }
}

function notANumber(text: string): TwinkeelError {
  return new TwinkeelError('read/json', {
    found: `"${text.slice(0, 40)}" in a list of numbers`,
    expected: 'finite numbers',
    remedy: 'pass a STEM.result.json that this or an older twinkeel wrote',
  });
}
