import type { NewNodeJson, NewSiteJson } from '@duskline/contract';
import { ownBatteryOf, type OwnBatteryForm } from './own-battery.ts';

/** The form as a person fills it in: levels in percent, everything that is a number as a number. */
export interface SetupForm {
  name: string;
  id: string;
  latitudeDeg: number | undefined;
  longitudeDeg: number | undefined;
  elevationM: number | undefined;
  timeZone: string;
  access: string;
  hazards: string;
  nodeName: string;
  panelW: number | undefined;
  panelTiltDeg: number;
  panelAzimuthDeg: number;
  batteryChemistry: NewNodeJson['batteryChemistry'];
  batteryWh: number | undefined;
  seriesCells: number;
  charger: NewNodeJson['charger'];
  shutDownPercent: number;
  restartPercent: number;
  offStateDrawW: number;
  usualGapS: number;
  /** Undefined: a battery as its chemistry usually is. */
  own: OwnBatteryForm | undefined;
}

export const emptySetup = (timeZone: string): SetupForm => ({
  name: '',
  id: '',
  latitudeDeg: undefined,
  longitudeDeg: undefined,
  elevationM: undefined,
  timeZone,
  access: '',
  hazards: '',
  nodeName: '',
  panelW: undefined,
  panelTiltDeg: 60,
  panelAzimuthDeg: 180,
  batteryChemistry: 'lifepo4',
  batteryWh: undefined,
  seriesCells: 4,
  charger: 'mppt',
  shutDownPercent: 15,
  restartPercent: 35,
  offStateDrawW: 0.05,
  usualGapS: 30,
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

export const siteOf = (form: SetupForm): NewSiteJson => ({
  id: form.id,
  name: form.name.trim(),
  latitudeDeg: form.latitudeDeg ?? 0,
  longitudeDeg: form.longitudeDeg ?? 0,
  elevationM: form.elevationM ?? 0,
  timeZone: form.timeZone,
  access: form.access,
  hazards: form.hazards,
});

export const nodeOf = (form: SetupForm): NewNodeJson => ({
  name: form.nodeName,
  panelW: form.panelW ?? 0,
  panelTiltDeg: form.panelTiltDeg,
  panelAzimuthDeg: form.panelAzimuthDeg,
  batteryChemistry: form.batteryChemistry,
  batteryWh: form.batteryWh ?? 0,
  seriesCells: form.seriesCells,
  charger: form.charger,
  shutDownRatio: form.shutDownPercent / 100,
  restartRatio: form.restartPercent / 100,
  offStateDrawW: form.offStateDrawW,
  usualGapS: form.usualGapS,
  ...(form.own === undefined ? {} : { ownBattery: ownBatteryOf(form.own) }),
});
