import { DAY_MS, type Position, type PowerSystem } from '@duskline/domain';
import { apparentElevationDeg } from './apparent-elevation.ts';
import { cellTemperatureC, DEFAULT_WIND_MS } from './cell-temperature.ts';
import { clearSkyOver, DEFAULT_LINKE_TURBIDITY, type Irradiance } from './clear-sky.ts';
import { diffuseModifiers } from './diffuse-modifiers.ts';
import { extraterrestrialNormalWm2 } from './extraterrestrial-normal.ts';
import { type Horizon, horizonHeight, skyViewRatio } from './horizon.ts';
import { incidenceCosine } from './incidence-cosine.ts';
import { incidenceModifierOfCosine } from './incidence-modifier.ts';
import { type MonthlyValues, monthlyValueAt, requireMonthly } from './monthly-value.ts';
import { DEFAULT_GAMMA_PER_K, panelDcW } from './panel-dc.ts';
import {
  DEFAULT_ALBEDO,
  planeOfArray,
  type PlaneIrradiance,
  type SkyModel,
} from './plane-of-array.ts';
import { pressurePa } from './pressure.ts';
import { requireFinite, requireWithin } from './require-number.ts';
import { splitErbs } from './split-erbs.ts';
import { sunPosition } from './sun-position.ts';

/** What the chain from sun to watts has to know of a site. */
export interface PanelChainInputs {
  readonly position: Position;
  readonly panel: PowerSystem['panel'];
  /** Haze of the cloudless sky, all year or twelve months; DEFAULT_LINKE_TURBIDITY when left out. */
  readonly linkeTurbidity?: number | MonthlyValues;
  /** Air temperature for the cells, °C; 15 when left out. */
  readonly airC?: number;
  /** Wind at the panel, m/s; DEFAULT_WIND_MS when left out. */
  readonly windMs?: number;
  /** Brightness of the ground, 0 … 1; DEFAULT_ALBEDO when left out. */
  readonly albedo?: number;
  /** How the sky's light falls on the panel; 'hay-davies' when left out. */
  readonly skyModel?: SkyModel;
  /** Skyline around the panel: no sun from below it, and less of the sky. Level when left out. */
  readonly horizon?: Horizon;
  /**
   * Level irradiance as a share of the cloudless sky's, ≥ 0. Left out: the cloudless sky with its own beam.
   * Given: beam and diffuse by Erbs from the dimmed level irradiance.
   */
  readonly clearSkyIndex?: number;
}

/** Wiring, mismatch, soiling, nameplate: the PVWatts default total loss is 14.08 % (Dobos 2014); rounded. */
export const REFERENCE_DERATE = 0.85;
const REFERENCE_AIR_C = 15;

/** The sun and the cloudless sky over a panel at one instant: what all weathers of that instant share. */
export interface PanelMoment {
  readonly sun: { readonly zenithDeg: number; readonly azimuthDeg: number };
  readonly extraterrestrialWm2: number;
  readonly cloudless: Irradiance;
  /** What the glass lets through of the beam. */
  readonly beamShare: number;
}

/** The chain from sun to watts, cut where the weather comes in. */
export interface PanelSky {
  /** @returns undefined while the sun is down */
  at(atMs: number): PanelMoment | undefined;
  /** W at the panel's best working point, after REFERENCE_DERATE; index as `PanelChainInputs.clearSkyIndex`, 0 … 2. */
  watts(moment: PanelMoment, clearSkyIndex?: number): number;
}

/**
 * The whole chain for one panel: sun → sky → plane → glass → cell → watts. Made once per panel, called for each instant.
 *
 * @returns a function of the instant (Unix ms) giving W at the panel's best working point, after REFERENCE_DERATE; 0 at night
 * @throws EnergyInputError when the place, panel or sky is out of range
 * @source the functions it calls; order of the steps as in PVWatts (Dobos 2014)
 */
export function createPanelChain(inputs: PanelChainInputs): (atMs: number) => number {
  const sky = createPanelSky(inputs);
  return (atMs) => {
    const moment = sky.at(atMs);
    return moment === undefined ? 0 : sky.watts(moment, inputs.clearSkyIndex);
  };
}

/** As `createPanelChain`, for asking about several weathers of the same instant: `inputs.clearSkyIndex` is not used. */
export function createPanelSky(inputs: PanelChainInputs): PanelSky {
  requireInputs(inputs);
  const { position, panel } = inputs;
  const turbidity = inputs.linkeTurbidity ?? DEFAULT_LINKE_TURBIDITY;
  const airC = inputs.airC ?? REFERENCE_AIR_C;
  const windMs = inputs.windMs ?? DEFAULT_WIND_MS;
  const albedo = inputs.albedo ?? DEFAULT_ALBEDO;
  const airPressurePa = pressurePa(position.elevationM);
  const clearSky = clearSkyOver(position.elevationM);
  const diffuse = diffuseModifiers(panel.tiltDeg);
  const skyline = inputs.horizon === undefined ? undefined : horizonHeight(inputs.horizon);
  const skyView = inputs.horizon === undefined ? 1 : skyViewRatio(inputs.horizon, panel);
  const skyModel = inputs.skyModel ?? 'hay-davies';

  // Constant within a UTC day, and instants are asked for in order.
  const aboveAir = { utcDay: Number.NaN, normalWm2: 0 };

  function at(atMs: number): PanelMoment | undefined {
    const trueSun = sunPosition(atMs, position.latitudeDeg, position.longitudeDeg);
    const zenithDeg = 90 - apparentElevationDeg(90 - trueSun.zenithDeg, airPressurePa, airC);
    if (zenithDeg >= 90) return undefined;
    const utcDay = Math.floor(atMs / DAY_MS);
    if (utcDay !== aboveAir.utcDay) {
      aboveAir.utcDay = utcDay;
      aboveAir.normalWm2 = extraterrestrialNormalWm2(atMs);
    }
    const extraterrestrialWm2 = aboveAir.normalWm2;
    const cloudless = clearSky({
      apparentZenithDeg: zenithDeg,
      linkeTurbidity: typeof turbidity === 'number' ? turbidity : monthlyValueAt(turbidity, atMs),
      extraterrestrialWm2,
    });
    const beamShare = incidenceModifierOfCosine(
      incidenceCosine({
        sunZenithDeg: zenithDeg,
        sunAzimuthDeg: trueSun.azimuthDeg,
        tiltDeg: panel.tiltDeg,
        azimuthDeg: panel.azimuthDeg,
      }),
    );
    const sun = { zenithDeg, azimuthDeg: trueSun.azimuthDeg };
    return { sun, extraterrestrialWm2, cloudless, beamShare };
  }

  function watts(moment: PanelMoment, clearSkyIndex?: number): number {
    const { sun, extraterrestrialWm2, cloudless, beamShare } = moment;
    const sky =
      clearSkyIndex === undefined
        ? cloudless
        : dimmed(cloudless.ghiWm2 * clearSkyIndex, sun.zenithDeg, extraterrestrialWm2);
    const open = planeOfArray({
      sun,
      surface: panel,
      ...sky,
      extraterrestrialWm2,
      albedo,
      skyModel,
    });
    const plane =
      skyline === undefined
        ? open
        : behindSkyline(open, 90 - sun.zenithDeg < skyline(sun.azimuthDeg), skyView);
    const throughGlassWm2 =
      (plane.beamWm2 + plane.circumsolarWm2) * beamShare +
      (plane.skyWm2 - plane.circumsolarWm2) * diffuse.sky +
      plane.groundWm2 * diffuse.ground;
    const cellC = cellTemperatureC({ airC, poaWm2: plane.totalWm2, windMs });
    return (
      REFERENCE_DERATE *
      panelDcW({
        ratedW: panel.ratedW,
        poaWm2: throughGlassWm2,
        cellC,
        gammaPerK: DEFAULT_GAMMA_PER_K,
      })
    );
  }

  return { at, watts };
}

/** The sun's disc and the sky around it go together; of the even sky a share is left. The ground is taken to lie in the open. */
function behindSkyline(
  open: PlaneIrradiance,
  sunHidden: boolean,
  skyView: number,
): PlaneIrradiance {
  const beamWm2 = sunHidden ? 0 : open.beamWm2;
  const circumsolarWm2 = sunHidden ? 0 : open.circumsolarWm2;
  const skyWm2 = circumsolarWm2 + (open.skyWm2 - open.circumsolarWm2) * skyView;
  const { groundWm2 } = open;
  return { beamWm2, skyWm2, circumsolarWm2, groundWm2, totalWm2: beamWm2 + skyWm2 + groundWm2 };
}

function dimmed(ghiWm2: number, zenithDeg: number, extraterrestrialWm2: number): Irradiance {
  const split = splitErbs({ ghiWm2, zenithDeg, extraterrestrialWm2 });
  return { ghiWm2, dniWm2: split.dniWm2, dhiWm2: split.dhiWm2 };
}

function requireInputs(inputs: PanelChainInputs): void {
  const { position, panel, clearSkyIndex, airC, linkeTurbidity } = inputs;
  if (typeof linkeTurbidity === 'object') requireMonthly('linkeTurbidity', linkeTurbidity);
  requireWithin('latitudeDeg', position.latitudeDeg, [-90, 90]);
  requireWithin('longitudeDeg', position.longitudeDeg, [-180, 180]);
  requireWithin('elevationM', position.elevationM, [-500, 9000]);
  requireWithin('panel.ratedW', panel.ratedW, [0, Number.MAX_VALUE]);
  requireWithin('panel.tiltDeg', panel.tiltDeg, [0, 90]);
  requireFinite('panel.azimuthDeg', panel.azimuthDeg);
  if (clearSkyIndex !== undefined) requireWithin('clearSkyIndex', clearSkyIndex, [0, 2]);
  if (airC !== undefined) requireFinite('airC', airC);
}
