// a worker for the queue's tests: counts, refuses, breaks, or never looks up
export default async function run({ task, port }) {
  try {
    if (task.kind === 'spin') for (;;) task.count++;
    if (task.kind === 'refuse') return { problem: { code: 'cannot-answer', message: 'no', details: { why: 'asked' } } };
    if (task.kind === 'break') throw new Error('a fault');
    for (let i = 0; i <= 4; i++) {
      port.postMessage([i / 4, 'counting']);
      await new Promise((done) => setTimeout(done, 20));
    }
    return { value: { sum: task.a + task.b } };
  } finally {
    port.close();
  }
}
