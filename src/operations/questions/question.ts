/** A question of the trade with the run that answers it on any site that has the records for it. */
export interface Question {
  readonly number: number;
  readonly group: string;
  /** in the trade's words; {class} and the like stand for what the asker chooses */
  readonly words: string;
  readonly process: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  /** the words after `wreckfield`, where the answer is no run of the process */
  readonly command?: string;
  /** picks the one-line answer out of the summary, where the analysis speaks of more; none = its own sentence */
  readonly result?: (summary: Summary) => string;
}

// biome-ignore lint/suspicious/noExplicitAny: summaries of all analyses, each with a schema of its own
export type Summary = any;

/** A number with so many digits that count, or words where there is none. */
export function shown(value: unknown, digits = 3): string {
  return typeof value === 'number' ? String(Number(value.toPrecision(digits))) : 'not known';
}

export const countOf = (s: Summary, kind: string): number =>
  s.counts.find((row: { kind: string }) => row.kind === kind)?.rows ?? 0;

/** The answer to a question in one line. @param heading  title of the figure, where the summary has no sentence */
export function answerInOneLine(
  question: Question,
  answer: { readonly summary: Summary; readonly heading: string },
): string {
  const { summary, heading } = answer;
  return question.result?.(summary) ?? summary.sentence ?? summary.reading ?? heading;
}

/** The words that ask the question on the command line. */
export function commandOf(question: Question, site: string): string {
  if (question.command !== undefined) return `wreckfield ${question.command}`;
  const quoted = (value: unknown) => {
    const text = typeof value === 'string' ? value : typeof value === 'object' ? JSON.stringify(value) : String(value);
    return /^[\w.:-]+$/.test(text) ? text : `"${text.replaceAll('"', '\\"')}"`;
  };
  const flags = Object.entries(question.inputs).flatMap(([name, value]) => {
    const flag = `--${name.replaceAll('_', '-')}`;
    return (Array.isArray(value) ? value : [value]).map((one) => `${flag} ${quoted(one)}`);
  });
  return ['wreckfield run', question.process, `--site ${site}`, ...flags].join(' ');
}
