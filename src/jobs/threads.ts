import { MessageChannel } from 'node:worker_threads';
import { Piscina } from 'piscina';
import { Problem } from '../problems.js';
import type { Queue } from './queue.js';

/** What a worker file receives: the task, and a port that takes progress as [share, doing]. */
export interface ThreadTask {
  readonly task: unknown;
  readonly port: import('node:worker_threads').MessagePort;
}

/** What a worker file gives back: a value, or a refusal as plain data (a Problem does not survive the way between threads). */
export type ThreadAnswer =
  | { readonly value: unknown }
  | {
      readonly problem: { readonly code: string; readonly message: string; readonly details: Record<string, unknown> };
    };

/**
 * A queue on kept-alive worker threads of this process. Aborting ends the thread that works on the task, so that
 * even a loop that never looks up stops at once; the pool starts a new one.
 * @param workerFile  file that exports a function (ThreadTask) → ThreadAnswer
 * @throws Problem queue-full when too many tasks wait
 */
export function openThreadQueue(options: {
  readonly workerFile: string;
  readonly threads: number;
  readonly workerData: unknown;
  readonly mostWaiting: number;
}): Queue {
  const pool = new Piscina({
    filename: options.workerFile,
    minThreads: options.threads,
    maxThreads: options.threads,
    workerData: options.workerData,
    maxQueue: options.mostWaiting,
    idleTimeout: Number.POSITIVE_INFINITY,
  });
  return {
    async run(task, onProgress, signal) {
      if (pool.queueSize >= options.mostWaiting) {
        throw new Problem('queue-full', `${pool.queueSize} runs are waiting already; try again later`, {
          waiting: pool.queueSize,
        });
      }
      const { port1, port2 } = new MessageChannel();
      port1.on('message', ([share, doing]: [number, string]) => onProgress(share, doing));
      try {
        const answer = (await pool.run({ task, port: port2 } satisfies ThreadTask, {
          transferList: [port2],
          signal,
        })) as ThreadAnswer;
        if ('problem' in answer) {
          throw new Problem(answer.problem.code as never, answer.problem.message, answer.problem.details);
        }
        return answer.value;
      } catch (error) {
        if (signal.aborted) throw signal.reason;
        throw error;
      } finally {
        port1.close();
      }
    },
    waiting: () => pool.queueSize,
    close: () => pool.destroy(),
  };
}
