import { Problem, type ProblemCode, problems } from '../../problems.js';
import type { Handler } from '../exchange.js';
import { problemType } from '../problem.js';
import { clip } from '../query.js';

/** Live: this process answers. */
export const getHealth: Handler = async (_request, { software }) => ({
  body: { status: 'ok', software },
  headers: { 'Cache-Control': 'no-store' },
});

/** Ready: the store and the queue can be reached. */
export const getReadiness: Handler = async (_request, { service }) => {
  const { store, queue } = await service.ready();
  const ready = store === true && queue === true;
  const say = (state: true | string) => (state === true ? 'ok' : state);
  return {
    status: ready ? 200 : 503,
    body: { status: ready ? 'ready' : 'not ready', store: say(store), queue: say(queue) },
    headers: { 'Cache-Control': 'no-store' },
  };
};

/** Counters for monitoring. */
export const getMetrics: Handler = async (_request, context) => {
  const { mediaType, text } = await context.metrics();
  return { body: text, mediaType, headers: { 'Cache-Control': 'no-store' } };
};

/** A file of the pages. */
export const getStatic: Handler = async (request, { staticFiles }) => {
  const name = request.params['file'];
  const file = staticFiles.get(name);
  if (file === undefined) throw new Problem('not-found', `there is no file "${clip(name)}"`);
  return { body: file.read(), mediaType: file.mediaType };
};

/** What a refusal means: the address every problem document names as its type. */
export const getProblem: Handler = async (request) => {
  const code = request.params['code'];
  if (!Object.hasOwn(problems, code)) throw new Problem('not-found', `there is no problem type "${clip(code)}"`);
  const { status, title } = problems[code as ProblemCode];
  return { body: { type: problemType(code as ProblemCode, request.base), title, status } };
};
