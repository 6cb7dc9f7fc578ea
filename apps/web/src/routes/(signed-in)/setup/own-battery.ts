import type { OwnBatteryJson } from '@duskline/contract';

/** A battery by its label and data sheet, as a person writes it down. */
export interface OwnBatteryForm {
  name: string;
  /** A pair a line: charge in percent, rest voltage of the pack in V. */
  curve: string;
  chargeFromC: number;
  chargeToC: number;
  useFromC: number;
  useToC: number;
}

/** Nothing in it is a guess at a battery that nobody knows: below 0 °C it is not charged. */
export const emptyOwnBattery = (): OwnBatteryForm => ({
  name: '',
  curve: '',
  chargeFromC: 0,
  chargeToC: 45,
  useFromC: -20,
  useToC: 60,
});

export type Curve =
  | { readonly ok: true; readonly points: OwnBatteryJson['voltagePoints'] }
  | { readonly ok: false; readonly line: number };

/** Reads "0 12.0", "50 % 13.1 V", "100; 13,6": a pair a line, both rising. @returns the first line that is none, from 1 */
export function readCurve(text: string): Curve {
  const points: [number, number][] = [];
  for (const [i, line] of text.split('\n').entries()) {
    if (line.trim() === '') continue;
    const found =
      line
        .replaceAll(',', '.')
        .match(/\d+(\.\d+)?/g)
        ?.map(Number) ?? [];
    const [percent, volts] = found;
    const before = points.at(-1);
    const isPair = found.length === 2 && percent !== undefined && volts !== undefined;
    if (!isPair || percent > 100) return { ok: false, line: i + 1 };
    if (before !== undefined && (percent / 100 <= before[0] || volts <= before[1]))
      return { ok: false, line: i + 1 };
    points.push([percent / 100, volts]);
  }
  return points.length < 2 ? { ok: false, line: points.length + 1 } : { ok: true, points };
}

/** @throws Error when the curve cannot be read: the form asks `readCurve` before */
export function ownBatteryOf(form: OwnBatteryForm): OwnBatteryJson {
  const curve = readCurve(form.curve);
  if (!curve.ok) throw new Error(`ownBatteryOf: line ${curve.line} of the curve is no pair`);
  return {
    name: form.name.trim(),
    voltagePoints: curve.points,
    chargeC: [form.chargeFromC, form.chargeToC],
    dischargeC: [form.useFromC, form.useToC],
  };
}
