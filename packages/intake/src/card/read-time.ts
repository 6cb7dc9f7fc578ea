import type { DateOrder } from './card-form.ts';

/** A time as a cell has it: an instant, or what a clock showed somewhere (as if it were UTC). */
export type CellTime =
  | { readonly kind: 'instant'; readonly atMs: number; readonly resolutionMs: number }
  | {
      readonly kind: 'wall';
      readonly wallMs: number;
      readonly resolutionMs: number;
      /** The two numbers of which one is the day and one the month, where their order is not plain. */
      readonly order?: readonly [number, number];
    };

const CLOCK = String.raw`(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,](\d{1,9}))?)?`;
const ZONE = String.raw` ?(Z|UTC|GMT|[-+]\d{2}(?::?\d{2})?)?`;
const YEAR_FIRST = new RegExp(
  String.raw`^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})[T ,]{1,3}${CLOCK}${ZONE}$`,
  'i',
);
const YEAR_LAST = new RegExp(
  String.raw`^(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})[T ,]{1,3}${CLOCK} ?([ap]\.?m\.?)?${ZONE}$`,
  'i',
);
const NAMED_MONTH = new RegExp(
  String.raw`^(\d{1,2})[- ]([a-z]{3})[a-z]{0,6}[- ](\d{4})[T ,]{1,3}${CLOCK}${ZONE}$`,
  'i',
);
const COMPACT = /^(\d{4})(\d{2})(\d{2})[T_ ]?(\d{2})(\d{2})(\d{2})?(Z)?$/i;
const DIGITS = /^\d{9,17}(?:[.,]\d{1,6})?$/;
const MONTHS = 'jan feb mar apr may jun jul aug sep oct nov dec'.split(' ');

/** The earliest and the latest Unix time that is taken for one: 2000 to 2100. */
const UNIX_SPAN_S = [946_684_800, 4_102_444_800] as const;

/**
 * Reads a cell that has date and time: ISO 8601, day or month first, month by its English name, compact digits, Unix seconds,
 * milliseconds or microseconds.
 *
 * @returns undefined where it is no time, or one that no calendar has
 */
export function readTime(cell: string, order: DateOrder): CellTime | undefined {
  if (cell.length < 8 || cell.length > 48) return undefined;
  if (DIGITS.test(cell)) return readDigits(cell);
  const iso = YEAR_FIRST.exec(cell);
  if (iso !== null) {
    const [, year, month, day, hour, minute, second, fraction, zone] = iso;
    return timeOf([year, month, day], [hour, minute, second, fraction], { zone });
  }
  const last = YEAR_LAST.exec(cell);
  if (last !== null) {
    const [, first = '', second = '', year = '', hour, minute, seconds, fraction, half, zone] =
      last;
    const [day, month] = order === 'day-first' ? [first, second] : [second, first];
    const full = year.length === 2 ? `20${year}` : year;
    return timeOf([full, month, day], [hour, minute, seconds, fraction], {
      zone,
      half,
      order: [Number(first), Number(second)],
    });
  }
  const named = NAMED_MONTH.exec(cell);
  if (named !== null) {
    const [, day, name = '', year, hour, minute, second, fraction, zone] = named;
    const month = MONTHS.indexOf(name.toLowerCase()) + 1;
    return timeOf([year, String(month), day], [hour, minute, second, fraction], { zone });
  }
  return readCompact(cell);
}

type Text = string | undefined;

function readCompact(cell: string): CellTime | undefined {
  const found = COMPACT.exec(cell);
  if (found === null) return undefined;
  const [, year, month, day, hour, minute, second, zone] = found;
  return timeOf([year, month, day], [hour, minute, second, undefined], { zone });
}

function readDigits(cell: string): CellTime | undefined {
  const value = Number(cell.replace(',', '.'));
  const digits = /[.,]/.test(cell) ? cell.search(/[.,]/) : cell.length;
  if (digits === 12 || digits === 14) return readCompact(cell);
  const perSecond = digits <= 10 ? 1 : digits === 13 ? 1000 : digits === 16 ? 1_000_000 : undefined;
  if (perSecond === undefined) return undefined;
  const seconds = value / perSecond;
  if (seconds < UNIX_SPAN_S[0] || seconds > UNIX_SPAN_S[1]) return undefined;
  const resolutionMs = perSecond === 1 && cell.length === digits ? 1000 : 1;
  return { kind: 'instant', atMs: Math.round((value * 1000) / perSecond), resolutionMs };
}

function timeOf(
  [year, month, day]: readonly [Text, Text, Text],
  [hour, minute, second, fraction]: readonly [Text, Text, Text, Text],
  { zone, half, order }: { zone?: Text; half?: Text; order?: readonly [number, number] } = {},
): CellTime | undefined {
  const hours = Number(hour);
  const halfDay = half?.[0]?.toLowerCase();
  if (halfDay !== undefined && (hours < 1 || hours > 12)) return undefined;
  const fullHours = halfDay === undefined ? hours : (hours % 12) + (halfDay === 'p' ? 12 : 0);
  const milliseconds = fraction === undefined ? 0 : Math.round(Number(`0.${fraction}`) * 1000);
  const [monthNumber, dayNumber] = [Number(month), Number(day)];
  if (fullHours > 23 || Number(minute) > 59 || Number(second ?? 0) > 59) return undefined;
  const dayMs = Date.UTC(Number(year), monthNumber - 1, dayNumber);
  const date = new Date(dayMs);
  if (date.getUTCMonth() !== monthNumber - 1 || date.getUTCDate() !== dayNumber) return undefined;
  const wallMs =
    dayMs + ((fullHours * 60 + Number(minute)) * 60 + Number(second ?? 0)) * 1000 + milliseconds;
  const resolutionMs = second === undefined ? 60_000 : fraction === undefined ? 1000 : 1;
  if (zone === undefined || zone === '')
    return { kind: 'wall', wallMs, resolutionMs, ...(order === undefined ? {} : { order }) };
  return { kind: 'instant', atMs: wallMs - offsetMs(zone), resolutionMs };
}

function offsetMs(zone: string): number {
  const found = /^([-+])(\d{2}):?(\d{2})?$/.exec(zone);
  if (found === null) return 0;
  const [, sign, hours, minutes = '0'] = found;
  return (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes)) * 60_000;
}

/** Is this a date without a time of day, or a time of day without a date? */
export const isDateCell = (cell: string): boolean =>
  /^(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2})|\d{1,2}[- ][a-z]{3}[a-z]{0,6}[- ]\d{4})$/i.test(
    cell,
  );
export const isClockCell = (cell: string): boolean =>
  /^\d{1,2}[:h]\d{2}(?::\d{2}(?:[.,]\d{1,9})?)?(?: ?[ap]\.?m\.?)?(?: ?(?:Z|UTC|[-+]\d{2}:?\d{2}))?$/i.test(
    cell,
  );
