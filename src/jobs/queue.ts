/** How long work is run away from the request: a port, filled by worker threads or by a shared database. */
export interface Queue {
  /**
   * Runs one task on a kept-alive worker.
   * @param task       plain data, structured-clonable
   * @param onProgress share done, 0 to 1, and what is being done
   * @param signal     aborting stops the work within a second; the promise then rejects with the signal's reason
   */
  run(task: unknown, onProgress: (share: number, doing: string) => void, signal: AbortSignal): Promise<unknown>;
  /** tasks waiting for a worker */
  waiting(): number;
  close(): Promise<void>;
}
