/** One line of the benchmark table: our time against a peer's for the same work in the same run. */
export interface Row {
  readonly job: string;
  readonly peer: string;
  /** milliseconds; median, or of what else the note says */
  readonly ours_ms: number;
  /** null = the peer was not there */
  readonly peer_ms: number | null;
  /** peer_ms / ours_ms; null without a peer */
  readonly ratio: number | null;
  readonly note: string;
  /** what must hold, in words; null = told for information */
  readonly gate: string | null;
  readonly pass: boolean | null;
}

/** Middle of the sorted values. */
export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length % 2 === 1
    ? sorted[sorted.length >> 1]
    : (sorted[sorted.length / 2 - 1] + sorted[sorted.length / 2]) / 2;
}
