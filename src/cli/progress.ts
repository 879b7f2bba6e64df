/** Shows how far long work has come: a line that renews itself on a terminal, JSON lines elsewhere; always on stderr. */
export interface ProgressLine {
  tell(share: number, doing: string): void;
  end(): void;
}

const barWidth = 24;

/** @param stream  stderr of the process; quiet when the work is short anyway */
export function progressLine(stream: NodeJS.WriteStream): ProgressLine {
  const started = performance.now();
  let last = 0;
  let drawn = false;
  return {
    tell(share, doing) {
      const now = performance.now();
      // the first quarter second says nothing: most answers are there by then
      if (now - started < 250 || now - last < (stream.isTTY ? 100 : 1000)) return;
      last = now;
      const seconds = (now - started) / 1000;
      const left = share > 0.01 ? (seconds * (1 - share)) / share : null;
      if (stream.isTTY) {
        const filled = Math.round(share * barWidth);
        const bar = '█'.repeat(filled) + '·'.repeat(barWidth - filled);
        const rest = left === null ? '' : `, about ${left < 10 ? left.toFixed(1) : Math.round(left)} s left`;
        stream.write(`\r\x1b[K${bar} ${Math.floor(share * 100)} %, ${doing}${rest}`);
        drawn = true;
      } else {
        stream.write(
          `${JSON.stringify({ progress: Math.floor(share * 100), doing, seconds_left: left === null ? null : Math.round(left * 10) / 10 })}\n`,
        );
      }
    },
    end() {
      if (drawn) stream.write('\r\x1b[K');
    },
  };
}
