import type {
  RuntimeRequestJson,
  SitePageJson,
  SizingBatteryJson,
  SizingRequestJson,
} from '@duskline/contract';

/** The form as a person fills it in: levels and shares in percent, what was left empty undefined. */
export interface SizingForm {
  latitudeDeg: number | undefined;
  longitudeDeg: number | undefined;
  elevationM: number | undefined;
  loadW: number | undefined;
  offStateDrawW: number;
  panelW: number | undefined;
  panelTiltDeg: number;
  panelAzimuthDeg: number;
  charger: SizingRequestJson['charger'];
  chemistry: SizingBatteryJson['chemistry'];
  batteryWh: number | undefined;
  seriesCells: number;
  shutDownPercent: number;
  restartPercent: number;
  wishedPercent: number;
  criticality: SizingRequestJson['criticality'];
  fromPercent: number;
  batteryC: number;
}

export const emptySizing = (): SizingForm => ({
  latitudeDeg: undefined,
  longitudeDeg: undefined,
  elevationM: 0,
  loadW: undefined,
  offStateDrawW: 0.05,
  panelW: undefined,
  panelTiltDeg: 60,
  panelAzimuthDeg: 180,
  charger: 'mppt',
  chemistry: 'lifepo4',
  batteryWh: undefined,
  seriesCells: 4,
  shutDownPercent: 15,
  restartPercent: 35,
  wishedPercent: 98,
  criticality: 'ordinary',
  fromPercent: 100,
  batteryC: 5,
});

const HOURS_A_DAY = 24;

/** Mean draw of a site by its own outlook, W; undefined when it has not been learnt yet. */
export function expectedLoadW({ row }: SitePageJson): number | undefined {
  const drivers = row.site.outlook?.drivers ?? null;
  return drivers === null ? undefined : drivers.loadWhPerDay / HOURS_A_DAY;
}

/** The form filled with what is known of a site; the wish stays. */
export function withSite(form: SizingForm, page: SitePageJson): SizingForm {
  const { site } = page.row;
  const place = {
    latitudeDeg: site.latitudeDeg,
    longitudeDeg: site.longitudeDeg,
    elevationM: site.elevationM,
  };
  const { power } = page;
  if (power === null) return { ...form, ...place };
  const loadW = expectedLoadW(page);
  return {
    ...form,
    ...place,
    ...(loadW === undefined ? {} : { loadW: Number(loadW.toFixed(2)) }),
    offStateDrawW: power.offStateDrawW,
    panelW: power.panelW,
    panelTiltDeg: power.panelTiltDeg,
    panelAzimuthDeg: power.panelAzimuthDeg,
    charger: power.charger as SizingForm['charger'],
    chemistry: power.batteryChemistry as SizingForm['chemistry'],
    batteryWh: power.batteryWh,
    seriesCells: power.seriesCells,
    shutDownPercent: Math.round(power.shutDownRatio * 100),
    restartPercent: Math.round(power.restartRatio * 100),
  };
}

const batteryOf = (form: SizingForm): SizingBatteryJson => ({
  chemistry: form.chemistry,
  ratedWh: form.batteryWh ?? 0,
  seriesCells: form.seriesCells,
});

export const sizingRequestOf = (form: SizingForm): SizingRequestJson => ({
  latitudeDeg: form.latitudeDeg ?? 0,
  longitudeDeg: form.longitudeDeg ?? 0,
  elevationM: form.elevationM ?? 0,
  loadW: form.loadW ?? 0,
  panelW: form.panelW ?? 0,
  panelTiltDeg: form.panelTiltDeg,
  panelAzimuthDeg: form.panelAzimuthDeg,
  battery: batteryOf(form),
  charger: form.charger,
  shutDownRatio: form.shutDownPercent / 100,
  restartRatio: form.restartPercent / 100,
  offStateDrawW: form.offStateDrawW,
  reliabilityRatio: form.wishedPercent / 100,
  criticality: form.criticality,
});

export const runtimeRequestOf = (form: SizingForm): RuntimeRequestJson => ({
  battery: batteryOf(form),
  loadW: form.loadW ?? 0,
  fromRatio: form.fromPercent / 100,
  shutDownRatio: form.shutDownPercent / 100,
  batteryC: form.batteryC,
});
