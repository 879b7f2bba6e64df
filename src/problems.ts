/**
 * Everything we refuse on purpose, and the status a client sees (RFC 9457). Any other error is a bug.
 * `type` is published as a URI below the service's own address, unless a standard names one.
 */
export const problems = {
  'bad-parameter': { status: 400, title: 'A parameter cannot be used' },
  'unknown-parameter': { status: 400, title: 'No such parameter' },
  'bad-filter': { status: 400, title: 'The filter cannot be used' },
  'bad-body': { status: 400, title: 'The request body cannot be read' },
  'address-too-long': { status: 414, title: 'The address is too long' },
  'body-too-large': { status: 413, title: 'The request body is too large' },
  'unsupported-media-type': { status: 415, title: 'This media type is not read here' },
  'not-acceptable': { status: 406, title: 'No such format' },
  'method-not-allowed': { status: 405, title: 'Method not allowed here' },
  'not-found': { status: 404, title: 'Nothing at this address' },
  'no-such-site': { status: 404, title: 'No such site' },
  'no-such-version': { status: 404, title: 'No such data version' },
  'no-such-collection': { status: 404, title: 'No such collection' },
  'no-such-feature': { status: 404, title: 'No such feature' },
  'no-such-tile': { status: 404, title: 'No such tile' },
  'no-such-process': { status: 404, title: 'No such process' },
  'no-such-job': { status: 404, title: 'No such job' },
  'result-not-ready': { status: 404, title: 'The result is not ready' },
  'job-dismissed': { status: 410, title: 'The job was dismissed' },
  'unknown-season': { status: 400, title: 'No such season' },
  'unknown-class': { status: 400, title: 'No such artefact class' },
  'too-few-points': { status: 422, title: 'Too few points' },
  'no-window': { status: 422, title: 'No excavated area' },
  'bad-window': { status: 422, title: 'The window cannot be used' },
  'no-hull': { status: 422, title: 'No hull features' },
  'cannot-answer': { status: 422, title: 'The question cannot be answered with these data' },
  'too-much-work': { status: 422, title: 'The request is too much work' },
  'queue-full': { status: 429, title: 'Too many jobs are waiting' },
  'bad-geometry': { status: 422, title: 'A geometry cannot be used' },
  'unknown-crs': { status: 400, title: 'Unknown coordinate reference system' },
  'bad-file': { status: 422, title: 'A file cannot be read' },
  'bad-folder': { status: 422, title: 'The site folder has complaints' },
  'store-unavailable': { status: 503, title: 'The store cannot be reached' },
  'refused-start': { status: 500, title: 'The service does not start' },
  interrupted: { status: 500, title: 'The job was interrupted' },
} as const;

export type ProblemCode = keyof typeof problems;

/** A refusal: a code of the table, and one sentence that says what was needed, what came, and where. */
export class Problem extends Error {
  readonly code: ProblemCode;
  readonly details: Record<string, unknown>;

  constructor(code: ProblemCode, message: string, details: Record<string, unknown> = {}) {
    super(message);
    this.name = 'Problem';
    this.code = code;
    this.details = details;
  }
}
