import { withUnit } from '../format/quantity.ts';

/** "3.2 days", "1 day": expected days of data. */
export function sayDays(days: number): string {
  const text = days.toFixed(1).replace(/\.0$/, '');
  return withUnit(Number(text), text === '1' ? 'day' : 'days', text.includes('.') ? 1 : 0);
}

/** "2 h 20 min", "45 min": no finer than five minutes, since nothing here knows a road. */
export function sayHours(hours: number): string {
  const fives = Math.max(1, Math.round(hours * 12));
  const [whole, minutes] = [Math.floor(fives / 12), (fives % 12) * 5];
  if (whole === 0) return withUnit(minutes, 'min', 0);
  return minutes === 0
    ? withUnit(whole, 'h', 0)
    : `${withUnit(whole, 'h', 0)} ${withUnit(minutes, 'min', 0)}`;
}

/** "12 km", "4.6 km". */
export const sayKm = (km: number): string => withUnit(km, 'km', km < 10 ? 1 : 0);

/** Latitude and longitude a person wrote, as the API wants them; undefined when they are none. */
export function readPlace(text: string): string | undefined {
  const found = /^\s*(-?\d{1,2}(?:\.\d+)?)\s*[,; ]\s*(-?\d{1,3}(?:\.\d+)?)\s*$/.exec(
    text.replaceAll('−', '-').replaceAll('°', ''),
  );
  if (found === null) return undefined;
  const [latitude, longitude] = [Number(found[1]), Number(found[2])];
  return Math.abs(latitude) <= 90 && Math.abs(longitude) <= 180
    ? `${latitude.toFixed(5)},${longitude.toFixed(5)}`
    : undefined;
}
