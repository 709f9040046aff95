/**
 * An hour and a day of 24 hours, in milliseconds. A calendar day may be an hour shorter or longer:
 * lib/weather/local-time.ts.
 */
export const HOUR_MS = 3_600_000;
export const DAY_MS = 24 * HOUR_MS;
