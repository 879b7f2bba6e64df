import { test } from 'vitest';
import { openDemo } from '../support/demo.js';
test('x', async () => {
  const demo = await openDemo();
  const a = await demo.run('register-check');
  const s = a.summary as any;
  console.log(s.sentence, JSON.stringify(s.counts, null, 0));
  console.log(JSON.stringify(s.inverted_nodes), JSON.stringify(s.missing_nodes));
  console.table(s.series_offsets); console.table(s.heaping);
  for (const k of new Set(s.rows.map((r: any) => r.kind))) console.log(s.rows.filter((r: any) => r.kind === k).slice(0, k==='missing_node'?2:16).map((r: any) => [r.kind, r.where, r.season, r.value, r.beyond, r.severity, r.rule].join(' | ')).join('\n'));
  console.log(a.methods, a.cautions);
  await demo.close();
});
