const any = -1;
const one = -2;
const encoder = new TextEncoder();

/**
 * A test of LIKE: `%` stands for any letters, `_` for exactly one, a backslash takes the next of them as it is. Works
 * on UTF-8 bytes without a regular expression, so that no pattern can make it slow: at worst length of the text times
 * length of the pattern.
 */
export function likeTest(pattern: string): (bytes: Uint8Array, start: number, end: number) => boolean {
  const { steps, least } = stepsOf(pattern);
  return (bytes, start, end) => {
    if (end - start < least) return false;
    let at = start;
    let step = 0;
    let retryAt = -1;
    let retryStep = -1;
    while (at < end || step < steps.length) {
      const wanted = step < steps.length ? steps[step] : null;
      if (wanted === any) {
        retryStep = ++step;
        retryAt = at;
        if (step === steps.length) return true;
        continue;
      }
      if (at < end && wanted !== null) {
        if (wanted === one && !continues(bytes[at])) {
          do at++;
          while (at < end && continues(bytes[at]));
          step++;
          continue;
        }
        if (wanted === bytes[at]) {
          at++;
          step++;
          continue;
        }
      }
      // back to the last %, which takes one byte more
      if (retryStep < 0 || retryAt >= end) return false;
      at = ++retryAt;
      step = retryStep;
    }
    return true;
  };
}

/** Whether a byte goes on with a letter begun before it. */
function continues(byte: number): boolean {
  return (byte & 0xc0) === 0x80;
}

/** The pattern as bytes to be met and signs, and how many bytes a text must have at least. */
function stepsOf(pattern: string): { steps: Int16Array; least: number } {
  const steps: number[] = [];
  let least = 0;
  let escaped = false;
  for (const letter of pattern) {
    if (!escaped && letter === '\\') {
      escaped = true;
      continue;
    }
    if (!escaped && letter === '%') {
      if (steps[steps.length - 1] !== any) steps.push(any);
    } else if (!escaped && letter === '_') {
      steps.push(one);
      least++;
    } else {
      const bytes = encoder.encode(letter);
      steps.push(...bytes);
      least += bytes.length;
    }
    escaped = false;
  }
  // a backslash at the very end has nothing to escape and is itself
  if (escaped) steps.push(0x5c);
  return { steps: Int16Array.from(steps), least: escaped ? least + 1 : least };
}
