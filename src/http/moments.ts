import { dayMs, momentOf } from '../filter/calendar.js';
import { badParameter, clip } from './query.js';

/** A stretch of time in milliseconds since 1970, both ends included; ±Infinity where open. */
export interface Interval {
  readonly startMs: number;
  readonly endMs: number;
}

/**
 * First and last moment of a date or a date-time. Beside RFC 3339 it takes `2024-07-05` and `2024-07-05T` (a whole
 * day), which desktops really send, and the years 0000 and 9999 that they mean as open ends.
 * @throws Problem bad-parameter
 */
export function parseMoment(name: string, text: string): Interval {
  const moment = momentOf(text.replace(/^(.{10})T$/, '$1'));
  if (moment === null) {
    throw badParameter(
      name,
      `"${clip(text)}" is no date (2024-07-05) or date-time (2024-07-05T10:00:00Z) of the calendar`,
    );
  }
  return { startMs: moment.ms, endMs: moment.grain === 'day' ? moment.ms + dayMs - 1 : moment.ms };
}

/**
 * `datetime` of OGC APIs: a moment, `a/b`, `../b`, `/b`, `a/..` or `a/`.
 * @throws Problem bad-parameter
 */
export function parseInterval(name: string, text: string): Interval {
  const ends = text.split('/');
  if (ends.length === 1) return parseMoment(name, text);
  if (ends.length > 2) throw badParameter(name, `"${clip(text)}" has more than two ends`);
  const open = (end: string) => end === '' || end === '..';
  const startMs = open(ends[0]) ? -Infinity : parseMoment(name, ends[0]).startMs;
  const endMs = open(ends[1]) ? Infinity : parseMoment(name, ends[1]).endMs;
  if (startMs > endMs) throw badParameter(name, `"${clip(text)}" ends before it starts`);
  return { startMs, endMs };
}
