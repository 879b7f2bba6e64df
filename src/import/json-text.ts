import { Problem } from '../problems.js';

/**
 * Parses JSON that came from outside: UTF-8 only, with or without a byte order mark, nested no deeper than allowed.
 * @throws Problem bad-file when it is not UTF-8, not JSON, or nested too deep
 */
export function parseJson(bytes: Uint8Array, depthLimit: number): unknown {
  const depth = nesting(bytes);
  if (depth > depthLimit)
    throw new Problem('bad-file', `is nested ${depth} levels deep; at most ${depthLimit} are read`);
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw new Problem('bad-file', 'is not UTF-8, which JSON must be');
  }
  try {
    return JSON.parse(text);
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    throw new Problem('bad-file', `is not JSON: ${error.message}`);
  }
}

/** Deepest nesting of brackets and braces outside texts. */
function nesting(bytes: Uint8Array): number {
  let depth = 0;
  let deepest = 0;
  let inText = false;
  for (let i = 0; i < bytes.length; i++) {
    const byte = bytes[i];
    if (inText) {
      if (byte === 92) i += 1;
      else if (byte === 34) inText = false;
    } else if (byte === 34) inText = true;
    else if (byte === 123 || byte === 91) deepest = Math.max(deepest, ++depth);
    else if (byte === 125 || byte === 93) depth -= 1;
  }
  return deepest;
}

/** The members of a JSON object by name; names such as __proto__ are names like any other. Null when it is no object. */
export function membersOf(value: unknown): ReadonlyMap<string, unknown> | null {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return null;
  return new Map(Object.entries(value));
}
