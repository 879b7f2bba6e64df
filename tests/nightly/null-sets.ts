import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { catalogue } from '../../src/analyses/catalogue.js';
import type { Analysis, Trial } from '../../src/analyses/contract.js';
import { checkInputs } from '../../src/analyses/inputs.js';
import { generatorName, randomStream } from '../../src/math/random.js';
import { Problem } from '../../src/problems.js';
import { smallDig } from '../support/small-dig.js';

// npx tsx tests/nightly/null-sets.ts [--sets 5000] [analysis …]
// Size and power of every test an answer leads with: made-up finds without an effect, and with the strongest one planted.
// Keeps one file of numbers for each analysis and writes docs/test-sizes.md from all of them.

const simulations = 99;
const level = 0.05;
const seed = 1790;
const powerSets = 400;
const root = resolve(import.meta.dirname, '../..');
const kept = join(import.meta.dirname, 'null-sets');

/** further p of an answer whose size is measured and told, by path into the summary */
const furtherTests: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  'nearest-neighbour': { 'Clark & Evans, uncorrected': 'clark_evans.p' },
  'distance-functions': { MAD: 'global.mad.p', DCLF: 'global.dclf.p' },
  'quadrat-counts': { 'χ² law': 'p_two_sided' },
  'hull-scatter': {
    'Kolmogorov–Smirnov': 'ks.p',
    'Berman Z1': 'berman.p1',
    'Berman Z2': 'berman.p2',
    'names dealt': 'against_others.p_two_sided',
  },
  'local-autocorrelation': {
    'Moran, normal law': 'moran.p_randomisation',
    'Geary, permutation': 'geary.p_permutation',
    'join counts': 'joins.p_two_sided',
  },
  'vertical-distribution': {
    'Mann–Whitney, squares not allowed for': 'comparison.mann_whitney.p',
    'Kolmogorov–Smirnov, squares not allowed for': 'comparison.kolmogorov_smirnov.p',
  },
  'class-association': { 'Dixon χ² law': 'dixon.p', Pielou: 'pielou.p' },
  'season-comparison': { 'all seasons': 'all_seasons.p' },
};

interface Measured {
  readonly test: string;
  readonly sets: number;
  readonly rejected: number;
  /** true = the p that leads the answer */
  readonly leads: boolean;
}

interface Kept {
  readonly analysis: string;
  readonly version: string;
  readonly sizes: readonly Measured[];
  readonly effect: string;
  readonly strongest: number;
  readonly power: { readonly sets: number; readonly rejected: number };
}

const at = (value: unknown, path: string): unknown =>
  path.split('.').reduce((inner, key) => (inner as Record<string, unknown> | null | undefined)?.[key], value);

/** One hundred and sixty finds in an L-shaped trench with a hole, among four hundred of the same seasons. */
const crowd = smallDig({ x: 0, y: 0 }, 400);
const dig = {
  ...smallDig({ x: 0, y: 0 }, 160),
  areas: [],
  others: { xy: crowd.xy, classCode: crowd.classCode },
};

function summaryOf(analysis: Analysis, trial: Trial, { strength, set }: { strength: number; set: number }) {
  const inputs = checkInputs(analysis, { simulations });
  const planted = trial.plant(dig, strength, randomStream(seed, set));
  try {
    return analysis.run(planted, inputs.own as never, {
      seed: seed + 1 + set,
      simulations,
      draws: 1,
      progress: () => {},
    }).summary;
  } catch (error) {
    if (error instanceof Problem) return null;
    throw error;
  }
}

function measure(analysis: Analysis, sets: number): Kept {
  const trial = analysis.trial as Trial;
  const further = Object.entries(furtherTests[analysis.id] ?? {});
  const tests = ['leads', ...further.map(([name]) => name)];
  const asked = new Uint32Array(tests.length);
  const rejected = new Uint32Array(tests.length);
  const started = Date.now();
  for (let set = 0; set < sets; set++) {
    const summary = summaryOf(analysis, trial, { strength: 0, set });
    if (summary === null) continue;
    const values = [trial.probability(summary), ...further.map(([, path]) => at(summary, path))];
    values.forEach((p, t) => {
      if (typeof p !== 'number') return;
      asked[t]++;
      if (p <= level) rejected[t]++;
    });
    if (set % 250 === 0) process.stderr.write(`${analysis.id}: ${set} of ${sets}, ${Date.now() - started} ms\n`);
  }
  const strongest = trial.strengths[trial.strengths.length - 1];
  let seen = 0;
  for (let set = 0; set < Math.min(powerSets, sets); set++) {
    const summary = summaryOf(analysis, trial, { strength: strongest, set });
    const p = summary && trial.probability(summary);
    if (p !== null && p <= level) seen++;
  }
  return {
    analysis: analysis.id,
    version: analysis.version,
    sizes: tests.map((test, t) => ({ test, sets: asked[t], rejected: rejected[t], leads: t === 0 })),
    effect: trial.effect,
    strongest,
    power: { sets: Math.min(powerSets, sets), rejected: seen },
  };
}

function page(all: readonly Kept[]): string {
  const share = (rejected: number, sets: number) => (sets === 0 ? '' : (rejected / sets).toFixed(4));
  const lines = [
    '# Size and power of the tests',
    '',
    `How often each test rejects at ${level} when nothing is there (its size), measured on made-up finds, and how often it sees the strongest effect it is tried with. Written by \`npx tsx tests/nightly/null-sets.ts\`; ${simulations} simulations a set, seed ${seed}, generator ${generatorName}. The dig: 160 finds in an L-shaped trench of 79 m² with a hole, among 400 of the same seasons.`,
    '',
    'Of 5,000 sets a true 0.05 gives 0.040 to 0.060 in 999 cases of 1,000. A p that leads an answer must lie inside; an exact test may lie below. A two-sided p of 99 simulations comes in steps of 0.02, so that p ≤ 0.05 means p ≤ 0.04: there the true size is 0.04, and 0.031 to 0.049 is to be expected. The others are told as they are: read them with what stands here in mind.',
    '',
    '| analysis | test | leads the answer | sets | size |',
    '|---|---|---|---|---|',
    ...all.flatMap((own) =>
      own.sizes
        .filter(({ sets }) => sets > 0)
        .map(
          ({ test, sets, rejected, leads }) =>
            `| ${own.analysis} | ${leads ? 'p of the answer' : test} | ${leads ? 'yes' : ''} | ${sets} | ${share(rejected, sets)} |`,
        ),
    ),
    '',
    '| analysis | effect planted | strength | sets | seen |',
    '|---|---|---|---|---|',
    ...all.map(
      (own) =>
        `| ${own.analysis} | ${own.effect} | ${own.strongest} | ${own.power.sets} | ${share(own.power.rejected, own.power.sets)} |`,
    ),
    '',
  ];
  return `${lines.join('\n')}`;
}

const words = process.argv.slice(2);
const setsAt = words.indexOf('--sets');
const sets = setsAt < 0 ? 5000 : Number(words[setsAt + 1]);
const named = words.filter((_, i) => setsAt < 0 || (i !== setsAt && i !== setsAt + 1));
mkdirSync(kept, { recursive: true });
for (const analysis of catalogue) {
  if (!analysis.trial || (named.length > 0 && !named.includes(analysis.id))) continue;
  writeFileSync(join(kept, `${analysis.id}.json`), `${JSON.stringify(measure(analysis, sets), null, 2)}\n`);
}
const files = readdirSync(kept).sort();
const all = files.map((file) => JSON.parse(readFileSync(join(kept, file), 'utf8')) as Kept);
writeFileSync(join(root, 'docs/test-sizes.md'), page(all));
process.stdout.write(page(all));
