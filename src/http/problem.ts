import { Problem, type ProblemCode, problems } from '../problems.js';

const processExceptions = 'http://www.opengis.net/def/exceptions/ogcapi-processes-1/1.0';

/** Codes whose type URI a standard names; all others are published below the service's own address. */
const standardTypes: Partial<Record<ProblemCode, string>> = {
  'no-such-process': `${processExceptions}/no-such-process`,
  'no-such-job': `${processExceptions}/no-such-job`,
  'result-not-ready': `${processExceptions}/result-not-ready`,
};

export interface ProblemDocument {
  readonly type: string;
  readonly title: string;
  readonly status: number;
  readonly detail: string;
  readonly instance: string;
  readonly errors?: unknown;
}

/** Address of the page that explains a code. */
export function problemType(code: ProblemCode, base: string): string {
  return standardTypes[code] ?? `${base}/problems/${code}`;
}

/** Details of a Problem that may leave: never positions, paths or stacks, so only those named here. */
const published = ['errors', 'total', 'limit', 'needed', 'got', 'file', 'row', 'column'] as const;

/** RFC 9457 document of a refusal. */
export function problemDocument(problem: Problem, base: string, instance: string): ProblemDocument {
  const { status, title } = problems[problem.code];
  const extra: Record<string, unknown> = {};
  for (const name of published) if (Object.hasOwn(problem.details, name)) extra[name] = problem.details[name];
  return { type: problemType(problem.code, base), title, status, detail: problem.message, instance, ...extra };
}

/** A bug: the client learns an id to report, the log learns the rest. */
export function bugDocument(instance: string, id: string): ProblemDocument {
  return {
    type: 'about:blank',
    title: 'Internal error',
    status: 500,
    detail: `Something went wrong here, not in the request. Please report it with the number ${id}.`,
    instance,
  };
}

/** Errors of the body reader and the router that are the client's doing, as Problems; null = a bug. */
export function asProblem(error: unknown): Problem | null {
  if (error instanceof Problem) return error;
  if (!(error instanceof Error)) return null;
  const { type, status } = error as Error & { type?: string; status?: number };
  switch (type) {
    case 'entity.too.large':
      return new Problem('body-too-large', 'the request body is larger than 1 MiB; send fewer or shorter values');
    case 'entity.parse.failed':
      return new Problem('bad-body', 'the request body is not JSON');
    case 'charset.unsupported':
    case 'encoding.unsupported':
      return new Problem('unsupported-media-type', 'send the request body as JSON in UTF-8, plain or packed by gzip');
    case 'request.aborted':
    case 'request.size.invalid':
      return new Problem('bad-body', 'the request body ended early');
  }
  if (error instanceof URIError)
    return new Problem('bad-parameter', 'the address holds a percent sign that starts no escape');
  if (status === 400) return new Problem('bad-body', 'the request cannot be read');
  return null;
}
