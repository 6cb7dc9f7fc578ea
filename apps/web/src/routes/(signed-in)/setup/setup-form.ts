import type { NewNodeJson, NewSiteJson } from '@duskline/contract';
import { ownBatteryOf, type OwnBatteryForm } from './own-battery.ts';
import { readNumber } from './read-number.ts';

/** The form as a person fills it in: levels in percent, numbers as they are written, with a point or a comma. */
export interface SetupForm {
  name: string;
  id: string;
  latitudeDeg: string;
  longitudeDeg: string;
  elevationM: string;
  timeZone: string;
  access: string;
  hazards: string;
  nodeName: string;
  panelW: string;
  panelTiltDeg: string;
  panelAzimuthDeg: string;
  batteryChemistry: NewNodeJson['batteryChemistry'];
  batteryWh: string;
  seriesCells: string;
  charger: NewNodeJson['charger'];
  shutDownPercent: string;
  restartPercent: string;
  offStateDrawW: string;
  usualGapS: string;
  /** Undefined: a battery as its chemistry usually is. */
  own: OwnBatteryForm | undefined;
}

export type NumberField = Exclude<
  keyof SetupForm,
  | 'name'
  | 'id'
  | 'timeZone'
  | 'access'
  | 'hazards'
  | 'nodeName'
  | 'batteryChemistry'
  | 'charger'
  | 'own'
>;

export const emptySetup = (timeZone: string): SetupForm => ({
  name: '',
  id: '',
  latitudeDeg: '',
  longitudeDeg: '',
  elevationM: '',
  timeZone,
  access: '',
  hazards: '',
  nodeName: '',
  panelW: '',
  panelTiltDeg: '60',
  panelAzimuthDeg: '180',
  batteryChemistry: 'lifepo4',
  batteryWh: '',
  seriesCells: '4',
  charger: 'mppt',
  shutDownPercent: '15',
  restartPercent: '35',
  offStateDrawW: '0.05',
  usualGapS: '30',
  own: undefined,
});

/** The short name that goes with a name: "Tarn Gill" → "tarn-gill". */
export const shortName = (name: string): string =>
  name
    .normalize('NFD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 40);

/** Of a field that was found right. */
function numberOf(text: string): number {
  const value = readNumber(text);
  if (value === undefined) throw new Error(`setup form: "${text}" is no number`);
  return value;
}

export const siteOf = (form: SetupForm): NewSiteJson => ({
  id: form.id,
  name: form.name.trim(),
  latitudeDeg: numberOf(form.latitudeDeg),
  longitudeDeg: numberOf(form.longitudeDeg),
  elevationM: numberOf(form.elevationM),
  timeZone: form.timeZone,
  access: form.access,
  hazards: form.hazards,
});

export const nodeOf = (form: SetupForm): NewNodeJson => ({
  name: form.nodeName,
  panelW: numberOf(form.panelW),
  panelTiltDeg: numberOf(form.panelTiltDeg),
  panelAzimuthDeg: numberOf(form.panelAzimuthDeg),
  batteryChemistry: form.batteryChemistry,
  batteryWh: numberOf(form.batteryWh),
  seriesCells: numberOf(form.seriesCells),
  charger: form.charger,
  shutDownRatio: numberOf(form.shutDownPercent) / 100,
  restartRatio: numberOf(form.restartPercent) / 100,
  offStateDrawW: numberOf(form.offStateDrawW),
  usualGapS: numberOf(form.usualGapS),
  ...(form.own === undefined ? {} : { ownBattery: ownBatteryOf(form.own) }),
});
