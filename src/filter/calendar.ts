/** A moment of the calendar in milliseconds since 1970: a day by its start, or an instant. */
export interface Moment {
  readonly grain: 'day' | 'instant';
  readonly ms: number;
}

export const dayMs = 86_400_000;

const day = /^(\d{4})-(\d{2})-(\d{2})$/;
const instant = /^(\d{4})-(\d{2})-(\d{2})[Tt ](\d{2}):(\d{2}):(\d{2})(?:\.(\d{1,9}))?([Zz]|[+-]\d{2}:\d{2})$/;

function startOfDay(year: number, month: number, dayOfMonth: number): number | null {
  const moment = new Date(0);
  // Date.UTC would take the years 0 to 99 for 1900 to 1999
  moment.setUTCFullYear(year, month - 1, dayOfMonth);
  return moment.getUTCMonth() === month - 1 && moment.getUTCDate() === dayOfMonth ? moment.getTime() : null;
}

/** A date or date-time of RFC 3339; null when it is none, or no day of the calendar. */
export function momentOf(text: string): Moment | null {
  const date = day.exec(text);
  if (date !== null) {
    const ms = startOfDay(Number(date[1]), Number(date[2]), Number(date[3]));
    return ms === null ? null : { grain: 'day', ms };
  }
  const full = instant.exec(text);
  if (full === null) return null;
  const start = startOfDay(Number(full[1]), Number(full[2]), Number(full[3]));
  const [hour, minute, second] = [Number(full[4]), Number(full[5]), Number(full[6])];
  if (start === null || hour > 23 || minute > 59 || second > 60) return null;
  const zone = full[8].toUpperCase();
  const offsetMinutes =
    zone === 'Z' ? 0 : (zone[0] === '-' ? -1 : 1) * (Number(zone.slice(1, 3)) * 60 + Number(zone.slice(4, 6)));
  const fraction = full[7] === undefined ? 0 : Math.floor(Number(`0.${full[7]}`) * 1000);
  return { grain: 'instant', ms: start + ((hour * 60 + minute - offsetMinutes) * 60 + second) * 1000 + fraction };
}
