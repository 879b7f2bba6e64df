import { readFileSync } from 'node:fs';
import { type Command, Option } from 'commander';
import type { Analysis } from '../analyses/contract.js';
import { type InputField, inputFields } from '../analyses/describe.js';
import { Problem } from '../problems.js';

/** The flag of an input: snake_case in requests, kebab-case on the command line. */
export const flagOf = (name: string): string => `--${name.replaceAll('_', '-')}`;

/** Inputs that name a file on the command line and carry its content in a request. */
const fileInputs: ReadonlySet<string> = new Set(['window', 'at']);

/** Adds one flag for each input of an analysis, own ones first. */
export function addInputFlags(command: Command, analysis: Analysis): void {
  for (const field of inputFields(analysis)) {
    if (field.name === 'keep') continue;
    const value = fileInputs.has(field.name) ? '<file>' : valueName(field);
    const option = new Option(`${flagOf(field.name)}${value === '' ? '' : ` ${value}`}`, helpOf(field));
    if (field.kind === 'list')
      option.argParser((text: string, before: string[] | undefined) => [...(before ?? []), text]);
    command.addOption(option);
  }
}

function valueName(field: InputField): string {
  if (field.kind === 'boolean') return '';
  if (field.name === 'bandwidth') return '<metres|rule>';
  if (field.name === 'filter') return '<cql2>';
  if (field.choices.length > 0 && !field.orNumber) return `<${field.choices.join('|')}>`;
  return field.kind === 'number' || field.kind === 'integer' ? '<number>' : field.kind === 'json' ? '<json>' : '<text>';
}

function helpOf(field: InputField): string {
  const unit = field.unit && field.unit !== '1' ? `, ${field.unit}` : '';
  const choices = field.orNumber && field.choices.length > 0 ? ` (a number, or ${field.choices.join(', ')})` : '';
  const standard =
    field.default === null || (Array.isArray(field.default) && field.default.length === 0)
      ? ''
      : ` [${JSON.stringify(field.default)}]`;
  return `${field.title}${unit}. ${field.description}${choices}${standard}`.trim();
}

/**
 * Turns given flags into inputs of a run.
 * @param options  what the command line parser read, by camelCase name
 * @throws Problem bad-parameter naming the flag, its value and what was wanted
 */
export function inputsFromFlags(
  analysis: Analysis,
  options: Readonly<Record<string, unknown>>,
): Record<string, unknown> {
  const inputs: Record<string, unknown> = {};
  for (const field of inputFields(analysis)) {
    const given = options[field.name.replace(/_(\w)/g, (_, letter: string) => letter.toUpperCase())];
    if (given === undefined) continue;
    inputs[field.name] = fileInputs.has(field.name) ? given : inputValue(field, given);
  }
  return inputs;
}

function inputValue(field: InputField, given: unknown): unknown {
  if (typeof given !== 'string') return given;
  const refuse = (wanted: string): never => {
    throw new Problem('bad-parameter', `${flagOf(field.name)} ${given}: ${wanted}`, { parameter: field.name });
  };
  const isNumber = /^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?$/i.test(given.trim());
  switch (field.kind) {
    case 'number':
      return isNumber ? Number(given) : refuse('a number is wanted');
    case 'integer':
      return /^[+-]?\d{1,15}$/.test(given.trim()) ? Number(given) : refuse('a whole number is wanted');
    case 'choice':
      if (field.orNumber && isNumber) return Number(given);
      if (!field.choices.includes(given))
        refuse(`one of ${field.choices.join(', ')}${field.orNumber ? ', or a number,' : ''} is wanted`);
      return given;
    case 'json':
      try {
        return JSON.parse(given);
      } catch {
        // an input that also takes a word, such as a line named "axis"
        return takesText(field) ? given : refuse('JSON is wanted');
      }
    default:
      return given;
  }
}

function takesText(field: InputField): boolean {
  const branches = (field.schema['anyOf'] ?? field.schema['oneOf'] ?? [field.schema]) as Record<string, unknown>[];
  return branches.some((branch) => branch['type'] === 'string');
}

/** The text of a file named on the command line. @throws Problem bad-file */
export function readTextFile(path: string): string {
  return Buffer.from(readBytes(path)).toString('utf8');
}

/** Bytes of a file named on the command line. @throws Problem bad-file */
export function readBytes(path: string): Uint8Array {
  try {
    return readFileSync(path);
  } catch (error) {
    throw new Problem('bad-file', `${path} cannot be read: ${error instanceof Error ? error.message : String(error)}`, {
      file: path,
    });
  }
}
