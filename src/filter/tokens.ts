import { filterProblem, quoted } from './refusal.js';

/** One word of a filter text. */
export interface Token {
  readonly kind: 'name' | 'quoted-name' | 'text' | 'number' | 'symbol' | 'end';
  /** names as written, texts without quotes, symbols as they are */
  readonly text: string;
  /** place in the filter, in words */
  readonly at: string;
}

const nameStart = /[:_\p{L}\p{Nl}]/u;
const namePart = /[:_.\p{L}\p{Nl}\p{Mn}\p{Mc}\p{Nd}\p{Pc}]/u;
const number = /(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?/y;
const twoCharacters = new Set(['<>', '<=', '>=']);
const oneCharacter = new Set([...'=<>+-*/^%(),']);

/** What people write from habit, and what is meant. */
const habits: Readonly<Record<string, string>> = {
  '!': 'write <> for "is not"',
  '&': 'write AND',
  '|': 'write OR',
  '~': 'write LIKE',
  '[': 'names stand bare or between double quotes, lists between ( and )',
  '{': 'this looks like CQL2 JSON: add filter-lang=cql2-json',
  '‘': "text stands between straight quotes: 'S1'",
  '’': "text stands between straight quotes: 'S1'",
  '“': "text stands between straight quotes: 'S1'",
  '”': "text stands between straight quotes: 'S1'",
  ';': 'a filter is one expression',
};

const placeOf = (index: number): string => `character ${index + 1}`;

/**
 * The words of a filter in CQL2 text.
 * @throws Problem bad-filter for a character that has no meaning here, an open quote or a number out of range
 */
export function tokensOf(source: string): Token[] {
  const tokens: Token[] = [];
  let i = 0;
  while (i < source.length) {
    const character = String.fromCodePoint(source.codePointAt(i) as number);
    const at = placeOf(i);
    if (/\s/u.test(character)) {
      i += character.length;
    } else if (character === "'" || character === '"') {
      const [text, end] = betweenQuotes(source, i);
      tokens.push({ kind: character === '"' ? 'quoted-name' : 'text', text, at });
      i = end;
    } else if (/\d/.test(character) || (character === '.' && /\d/.test(source[i + 1] ?? ''))) {
      number.lastIndex = i;
      const text = (number.exec(source) as RegExpExecArray)[0];
      i += text.length;
      if (!Number.isFinite(Number(text))) throw filterProblem(at, `${quoted(text)} is too large a number`);
      if (nameStart.test(source[i] ?? ''))
        throw filterProblem(at, `${quoted(`${text}${source[i]}`)} is neither a number nor a name`);
      tokens.push({ kind: 'number', text, at });
    } else if (nameStart.test(character)) {
      let end = i + character.length;
      for (;;) {
        const next = source.codePointAt(end);
        if (next === undefined || !namePart.test(String.fromCodePoint(next))) break;
        end += next > 0xffff ? 2 : 1;
      }
      tokens.push({ kind: 'name', text: source.slice(i, end), at });
      i = end;
    } else {
      const pair = source.slice(i, i + 2);
      const text = twoCharacters.has(pair) ? pair : character;
      if (pair === '==') throw filterProblem(at, '"==" is written = here');
      if (!twoCharacters.has(text) && !oneCharacter.has(text)) {
        throw filterProblem(at, `${quoted(text)} has no meaning here${habits[text] ? `: ${habits[text]}` : ''}`);
      }
      tokens.push({ kind: 'symbol', text, at });
      i += text.length;
    }
  }
  tokens.push({ kind: 'end', text: '', at: placeOf(source.length) });
  return tokens;
}

/** Text between quotes: a doubled quote is one, and so is \' in a text; other backslashes stay, LIKE reads them. */
function betweenQuotes(source: string, start: number): [string, number] {
  const quote = source[start];
  let text = '';
  for (let i = start + 1; i < source.length; i++) {
    const character = source[i];
    if (character === '\\' && quote === "'") {
      const next = source[i + 1] ?? '';
      if (next === "'") text += next;
      else text += `\\${next}`;
      i++;
    } else if (character !== quote) {
      text += character;
    } else if (source[i + 1] === quote) {
      text += quote;
      i++;
    } else {
      if (quote === '"' && text === '') throw filterProblem(placeOf(start), 'a name between quotes is empty');
      return [text, i + 1];
    }
  }
  throw filterProblem(
    placeOf(start),
    `this quote is never closed; write ${quote} at its end (${quote}${quote} inside)`,
  );
}

/** Walks through the words of a filter. */
export class TokenReader {
  readonly #tokens: readonly Token[];
  #next = 0;

  constructor(tokens: readonly Token[]) {
    this.#tokens = tokens;
  }

  peek(ahead = 0): Token {
    return this.#tokens[Math.min(this.#next + ahead, this.#tokens.length - 1)];
  }

  take(): Token {
    const token = this.peek();
    this.#next++;
    return token;
  }

  isSymbol(text: string, ahead = 0): boolean {
    const token = this.peek(ahead);
    return token.kind === 'symbol' && token.text === text;
  }

  isWord(word: string, ahead = 0): boolean {
    const token = this.peek(ahead);
    return token.kind === 'name' && token.text.toUpperCase() === word;
  }

  /** Takes a symbol if it comes next. */
  skipSymbol(text: string): boolean {
    if (!this.isSymbol(text)) return false;
    this.#next++;
    return true;
  }

  /** Takes a keyword if it comes next. */
  skipWord(word: string): boolean {
    if (!this.isWord(word)) return false;
    this.#next++;
    return true;
  }

  /** @throws Problem bad-filter when something else comes */
  expectSymbol(text: string): void {
    if (!this.skipSymbol(text)) throw this.unexpected(`"${text}"`);
  }

  /** A refusal of what comes next. @param wanted what should come, in words */
  unexpected(wanted: string): Error {
    const token = this.peek();
    const found = token.kind === 'end' ? 'the filter ends' : `${quoted(token.text)} stands`;
    return filterProblem(token.at, `${found} where ${wanted} is wanted`);
  }
}
