import { setupText } from '../../../lib/text/setup.ts';
import { readNumber } from './read-number.ts';
import type { NumberField, SetupForm } from './setup-form.ts';

interface Span {
  readonly least: number;
  readonly most: number;
  readonly whole?: true;
}

/** What the API takes (shared/contract: NewSite, NewNode), so that a wrong figure is named beside its field. */
const SPANS: Readonly<Record<NumberField, Span>> = {
  latitudeDeg: { least: -90, most: 90 },
  longitudeDeg: { least: -180, most: 180 },
  elevationM: { least: -450, most: 9000 },
  panelW: { least: 0.1, most: 5000 },
  panelTiltDeg: { least: 0, most: 90 },
  panelAzimuthDeg: { least: 0, most: 360 },
  batteryWh: { least: 0.1, most: 50_000 },
  seriesCells: { least: 1, most: 40, whole: true },
  shutDownPercent: { least: 0, most: 95 },
  restartPercent: { least: 1, most: 100 },
  offStateDrawW: { least: 0, most: 100 },
  usualGapS: { least: 1, most: 604_800 },
};

/** What is wrong with a field, in a sentence with the way to mend it. */
export function faultOfNumber(name: NumberField, text: string): string | undefined {
  const { least, most, whole } = SPANS[name];
  if (text.trim() === '') return setupText.missing;
  const value = readNumber(text);
  if (value === undefined) return setupText.noNumber(text.trim());
  if (whole === true && !Number.isInteger(value)) return setupText.notWhole;
  return value < least || value > most ? setupText.outside(least, most) : undefined;
}

/** The fields that must be mended before anything is sent, by name. */
export function faultsOf(form: SetupForm): Readonly<Partial<Record<keyof SetupForm, string>>> {
  const faults: Partial<Record<keyof SetupForm, string>> = {};
  if (form.name.trim() === '') faults.name = setupText.missing;
  if (!/^[a-z0-9][a-z0-9-]{1,59}$/.test(form.id)) faults.id = setupText.shortName(2, 60);
  if (!/^[a-z0-9-]{3,40}$/.test(form.nodeName)) faults.nodeName = setupText.shortName(3, 40);
  for (const name of Object.keys(SPANS) as NumberField[]) {
    const fault = faultOfNumber(name, form[name]);
    if (fault !== undefined) faults[name] = fault;
  }
  const [shutDown, restart] = [readNumber(form.shutDownPercent), readNumber(form.restartPercent)];
  if (faults.restartPercent === undefined && (restart ?? 0) <= (shutDown ?? 0))
    faults.restartPercent = setupText.levelsWrong;
  return faults;
}
