import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { RunAnswer } from '../../src/analyses/execute.js';
import { svgText } from '../../src/figures/svg.js';
import { questions } from '../../src/operations/questions/list.js';
import { answerInOneLine, commandOf } from '../../src/operations/questions/question.js';
import { openDemo } from '../support/demo.js';

// npx tsx tests/nightly/questions.ts
// Asks every question of the demo and writes docs/questions.md with the answers; figures go to docs/figures.

const docs = resolve(import.meta.dirname, '../../docs');
const figures = join(docs, 'figures');
/** drawings of thousands of marks are left to the run itself */
const mostBytes = 120_000;

const demo = await openDemo();
const known = new Map<string, RunAnswer>();
const figureOf = new Map<string, string>();
const rows: string[] = [];
rmSync(figures, { recursive: true, force: true });
mkdirSync(figures, { recursive: true });
for (const question of questions) {
  const key = JSON.stringify([question.process, question.inputs]);
  const started = Date.now();
  const answer = known.get(key) ?? (await demo.run(question.process, question.inputs));
  known.set(key, answer);
  const line = answerInOneLine(question, { summary: answer.summary, heading: answer.figure.title });
  // the same run answers several questions: its figure is kept once
  const name = figureOf.get(key) ?? `question-${String(question.number).padStart(2, '0')}.svg`;
  figureOf.set(key, name);
  const svg = svgText(answer.figure);
  const isKept = question.command === undefined && Buffer.byteLength(svg) <= mostBytes;
  if (isKept) writeFileSync(join(figures, name), svg);
  const figure = question.command !== undefined ? '' : isKept ? `[figure](figures/${name})` : '`figure.svg` of the run';
  const cell = (text: string) => text.replaceAll('|', '\\|').replace(/\s+/g, ' ');
  rows.push(
    `| ${question.number} | ${cell(question.words)} | \`${cell(commandOf(question, 'tarn-ledge'))}\` | ${cell(line)} | ${figure} |`,
  );
  process.stderr.write(`${question.number}: ${Date.now() - started} ms\n`);
}
await demo.close();

writeFileSync(
  join(docs, 'questions.md'),
  `# Questions

What analysts ask, the command that answers it on the demo site (every command starts with \`npx\`; \`--out FOLDER\` keeps figure, table, layer and methods), and the answer. The same runs are processes of the same name over HTTP. Written by \`npx tsx tests/nightly/questions.ts\`.

| | question | command | answer on the demo | figure |
|---|---|---|---|---|
${rows.join('\n')}
`,
);
