import { badParameter, clip } from './query.js';

/** A stretch of time in milliseconds since 1970, both ends included; ±Infinity where open. */
export interface Interval {
  readonly startMs: number;
  readonly endMs: number;
}

const dayMs = 86_400_000;
const date = /^(\d{4})-(\d{2})-(\d{2})T?$/;
const dateTime = /^(\d{4})-(\d{2})-(\d{2})[Tt](\d{2}):(\d{2}):(\d{2})(?:\.(\d{1,9}))?([Zz]|[+-]\d{2}:\d{2})$/;

function startOfDay(text: string, year: number, month: number, day: number, name: string): number {
  const moment = new Date(0);
  // Date.UTC would take the years 0 to 99 for 1900 to 1999
  moment.setUTCFullYear(year, month - 1, day);
  if (moment.getUTCMonth() !== month - 1 || moment.getUTCDate() !== day) {
    throw badParameter(name, `"${clip(text)}" is not a day of the calendar`);
  }
  return moment.getTime();
}

/**
 * First and last moment of a date or a date-time. Beside RFC 3339 it takes `2024-07-05` and `2024-07-05T` (a whole
 * day), which desktops really send, and the years 0000 and 9999 that they mean as open ends.
 * @throws Problem bad-parameter
 */
export function parseMoment(name: string, text: string): Interval {
  const day = date.exec(text);
  if (day !== null) {
    const startMs = startOfDay(text, Number(day[1]), Number(day[2]), Number(day[3]), name);
    return { startMs, endMs: startMs + dayMs - 1 };
  }
  const full = dateTime.exec(text);
  if (full === null) {
    throw badParameter(name, `"${clip(text)}" is not a date (2024-07-05) or date-time (2024-07-05T10:00:00Z)`);
  }
  const [hour, minute, second] = [Number(full[4]), Number(full[5]), Number(full[6])];
  if (hour > 23 || minute > 59 || second > 60) throw badParameter(name, `"${clip(text)}" is not a time of day`);
  const zone = full[8].toUpperCase();
  const offsetMinutes =
    zone === 'Z' ? 0 : (zone[0] === '-' ? -1 : 1) * (Number(zone.slice(1, 3)) * 60 + Number(zone.slice(4, 6)));
  const fraction = full[7] === undefined ? 0 : Math.floor(Number(`0.${full[7]}`) * 1000);
  const at =
    startOfDay(text, Number(full[1]), Number(full[2]), Number(full[3]), name) +
    ((hour * 60 + minute - offsetMinutes) * 60 + second) * 1000 +
    fraction;
  return { startMs: at, endMs: at };
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
