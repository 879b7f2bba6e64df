import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Queue } from '../../src/jobs/queue.js';

/** What every queue must do, whatever it runs on; its worker is tests/support/workers/counting.mjs. */
export function queueSuite(name: string, open: () => Queue): void {
  describe(name, () => {
    let queue: Queue;
    beforeAll(() => {
      queue = open();
    });
    afterAll(() => queue.close());
    const never = () => new AbortController().signal;

    test('gives the worker’s value and tells how far it is, never backwards', async () => {
      const shares: number[] = [];
      const value = await queue.run({ kind: 'sum', a: 2, b: 3 }, (share) => shares.push(share), never());
      expect(value).toEqual({ sum: 5 });
      expect(shares.length).toBeGreaterThan(1);
      expect([...shares].sort((a, b) => a - b)).toEqual(shares);
    });

    test('a refusal comes as the Problem it was, a fault as an error', async () => {
      await expect(queue.run({ kind: 'refuse' }, () => {}, never())).rejects.toMatchObject({
        name: 'Problem',
        code: 'cannot-answer',
        details: { why: 'asked' },
      });
      await expect(queue.run({ kind: 'break' }, () => {}, never())).rejects.toThrow('a fault');
    });

    test('a loop that never looks up is stopped within a second, and the queue works on', async () => {
      const stop = new AbortController();
      const running = queue.run({ kind: 'spin', count: 0 }, () => {}, stop.signal);
      const outcome = running.then(
        () => 'done',
        (error: Error) => error.message,
      );
      await wait(300);
      const before = performance.now();
      stop.abort(new Error('stopped on request'));
      expect(await outcome).toBe('stopped on request');
      expect(performance.now() - before).toBeLessThan(1000);
      expect(await queue.run({ kind: 'sum', a: 1, b: 1 }, () => {}, never())).toEqual({ sum: 2 });
    });

    test('more waiting tasks than allowed are refused by name', async () => {
      const stop = new AbortController();
      const many = Array.from({ length: 6 }, () => queue.run({ kind: 'spin', count: 0 }, () => {}, stop.signal));
      const outcomes = Promise.allSettled(many);
      await wait(100);
      stop.abort(new Error('enough'));
      const codes = (await outcomes).map((o) =>
        o.status === 'rejected' ? (o.reason as { code?: string }).code : null,
      );
      expect(codes).toContain('queue-full');
      expect(queue.waiting()).toBe(0);
    });
  });
}
