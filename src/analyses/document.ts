import * as z from 'zod';
import type { Analysis } from './contract.js';
import { type InputField, inputFields } from './describe.js';

/** The documentation page of an analysis, as Markdown, made from its descriptor alone. */
export function analysisPage(analysis: Analysis): string {
  const fields = inputFields(analysis);
  const lines = [
    '<!-- Made by `npm run generate`; do not edit. -->',
    `# ${analysis.title}`,
    '',
    `\`${analysis.id}\`, version ${analysis.version}. ${analysis.summary}`,
    '',
    '## Formula',
    '',
    analysis.formula.trim(),
    '',
    '## Where it misleads',
    '',
    ...analysis.cautions.map((caution) => `- ${caution}`),
    '',
    '## Inputs of its own',
    '',
    ...inputTable(fields.filter((field) => !field.common)),
    '',
    '## Common inputs',
    '',
    ...inputTable(fields.filter((field) => field.common)),
    '',
    ...(analysis.withoutEffect.length > 0
      ? [`Accepted without effect: ${analysis.withoutEffect.map((name) => `\`${name}\``).join(', ')}.`, '']
      : []),
    '## Numbers',
    '',
    ...resultTable(analysis),
    '',
    '## Worked examples',
    '',
    ...analysis.worked.flatMap((example) => [
      `From ${example.source} (tolerance ${example.tolerance}, relative):`,
      '',
      `\`${JSON.stringify(example.parameters)}\`, ${example.xy.length} points`,
      '',
      '| number | value |',
      '|---|---|',
      ...Object.entries(example.expected).map(([path, value]) => `| \`${path}\` | ${value} |`),
      '',
    ]),
    '## Sources',
    '',
    ...analysis.sources.map((source) => `- ${source}`),
    '',
  ];
  return lines.join('\n');
}

const cell = (text: string) => text.replaceAll('|', '\\|').replaceAll('\n', ' ');

function inputTable(fields: readonly InputField[]): string[] {
  if (fields.length === 0) return ['None.'];
  return [
    '| input | meaning | default |',
    '|---|---|---|',
    ...fields.map((field) => {
      const choices =
        field.choices.length > 0 ? ` (${field.choices.join(', ')}${field.orNumber ? ', or a number' : ''})` : '';
      const unit = field.unit ? `, ${field.unit}` : '';
      return `| \`${field.name}\` | ${cell(`${field.title}${unit}. ${field.description}${choices}`)} | ${cell(JSON.stringify(field.default))} |`;
    }),
  ];
}

function resultTable(analysis: Analysis): string[] {
  const rows: string[] = [];
  const walk = (schema: Record<string, unknown>, path: string): void => {
    const branches = (schema['anyOf'] ?? schema['oneOf']) as Record<string, unknown>[] | undefined;
    const usable = branches?.find((branch) => branch['type'] !== 'null') ?? schema;
    const title = String(schema['title'] ?? usable['title'] ?? '');
    const unit = schema['x-ogc-unit'] ?? usable['x-ogc-unit'];
    if (path !== '') rows.push(`| \`${path}\` | ${cell(title)} | ${unit === undefined ? '' : String(unit)} |`);
    if (usable['type'] === 'object' && usable['properties']) {
      for (const [name, inner] of Object.entries(usable['properties'] as Record<string, Record<string, unknown>>)) {
        walk(inner, path === '' ? name : `${path}.${name}`);
      }
    } else if (usable['type'] === 'array' && usable['items']) {
      const items = usable['items'] as Record<string, unknown>;
      if (items['properties']) {
        for (const [name, inner] of Object.entries(items['properties'] as Record<string, Record<string, unknown>>))
          walk(inner, `${path}[].${name}`);
      }
    }
  };
  walk(z.toJSONSchema(analysis.result, { unrepresentable: 'any' }) as Record<string, unknown>, '');
  return ['| number | meaning | unit (UCUM) |', '|---|---|---|', ...rows];
}
