import { DAY_MS } from '@duskline/domain';
import type { Drill, SimulatedSite } from './fleet.ts';
import type { PanelFate } from './mishaps/mishap.ts';
import { lightOnPanel, type BeamKept, type LightOnPanel } from './sky-on-panel.ts';
import type { SkyNow, Weather } from './weather.ts';

/** What a site is exposed to at one moment, whatever its node does. */
export interface Surroundings {
  readonly sky: SkyNow;
  readonly light: LightOnPanel;
  /** What the panel can give in this light, W, while its connector holds. */
  readonly panelW: number;
}

export type SurroundingsAt = (atMs: number) => Surroundings;

/** Leaves begin to grow so long before the moment of the drill, and are out after a month. */
const LEAVES_FROM_MS = 35 * DAY_MS;
const LEAVES_GROW_MS = 30 * DAY_MS;

export function surroundingsOf(
  site: SimulatedSite,
  siteIndex: number,
  weather: Weather,
  drillMs: number,
  fate: PanelFate = {},
): SurroundingsAt {
  const { position, power, drill } = site;
  return (atMs) => {
    const sky = weather.at(atMs, siteIndex, position.elevationM);
    const panel = { ...power.panel, ...fate.mountAt?.(atMs) };
    const kept = beamKept(drill, atMs, drillMs);
    const onGlass = lightOnPanel(atMs, { position, panel }, sky.cloud, kept);
    const through = fate.throughGlassAt?.(atMs) ?? 1;
    const light = { ...onGlass, planeWm2: onGlass.planeWm2 * through };
    return { sky, light, panelW: panelPower(light, sky, power.panel.ratedW) };
  };
}

/** Remembers what it was asked: the same weeks are lived through many times when a drill is tuned. */
export function remembered(at: SurroundingsAt): SurroundingsAt {
  const known = new Map<number, Surroundings>();
  return (atMs) => {
    let surroundings = known.get(atMs);
    if (surroundings === undefined) {
      surroundings = at(atMs);
      known.set(atMs, surroundings);
    }
    return surroundings;
  };
}

/** Cell temperature by Faiman (2008); −0.4 % per kelvin; 0.86 for wiring, mismatch and the dirt of a moor (assumption). */
function panelPower({ planeWm2 }: LightOnPanel, { airC, windMs }: SkyNow, ratedW: number): number {
  const cellC = airC + planeWm2 / (25 + 6.84 * windMs);
  return Math.max(0, ratedW * 0.86 * (planeWm2 / 1000) * (1 - 0.004 * (cellC - 25)));
}

/** Share of the beam that a bearing of the sun keeps. */
export function beamKept(drill: Drill | undefined, atMs: number, drillMs: number): BeamKept {
  if (drill?.kind !== 'leaves') return () => 1;
  const grown = Math.min(1, Math.max(0, (atMs - (drillMs - LEAVES_FROM_MS)) / LEAVES_GROW_MS));
  return (azimuthDeg) =>
    azimuthDeg >= drill.fromAzimuthDeg && azimuthDeg <= drill.toAzimuthDeg
      ? 1 - grown * drill.beamLost
      : 1;
}
