import type { Position, PowerSystem } from '@duskline/domain';
import {
  apparentElevationDeg,
  clearSky,
  extraterrestrialNormalWm2,
  incidenceCosine,
  pressurePa,
  sunPosition,
} from '@duskline/energy';

export interface LightOnPanel {
  readonly planeWm2: number;
  readonly levelWm2: number;
  readonly sunUp: boolean;
}

/** How much of the beam a bearing of the sun keeps: 1 open, 0 dark. */
export type BeamKept = (sunAzimuthDeg: number) => number;

/**
 * Light on the flat and on the panel under this much cloud: the truth of the pretend fleet.
 *
 * Level irradiance falls with cloud cover N as 1 − 0.75 N^3.4 (Kasten & Czeplak 1980, Solar Energy 24:177); the beam falls
 * faster, and what is left is diffuse, the same from the whole sky. The forecaster takes another path (daily yield ratios).
 */
export function lightOnPanel(
  atMs: number,
  { position, panel }: { readonly position: Position; readonly panel: PowerSystem['panel'] },
  cloud: number,
  beamKept: BeamKept,
): LightOnPanel {
  const sun = sunPosition(atMs, position.latitudeDeg, position.longitudeDeg);
  const zenithDeg =
    90 - apparentElevationDeg(90 - sun.zenithDeg, pressurePa(position.elevationM), 10);
  if (zenithDeg >= 89.9) return { planeWm2: 0, levelWm2: 0, sunUp: false };
  const clear = clearSky({
    apparentZenithDeg: zenithDeg,
    elevationM: position.elevationM,
    linkeTurbidity: 3.2,
    extraterrestrialWm2: extraterrestrialNormalWm2(atMs),
  });
  const levelWm2 = clear.ghiWm2 * (1 - 0.75 * cloud ** 3.4);
  const cosZenith = Math.cos((zenithDeg * Math.PI) / 180);
  const beamNormalWm2 = Math.min(
    clear.dniWm2 * (1 - cloud) ** 1.4,
    levelWm2 / Math.max(cosZenith, 0.05),
  );
  const diffuseWm2 = Math.max(0, levelWm2 - beamNormalWm2 * cosZenith);
  const onPanel = Math.max(
    0,
    incidenceCosine({
      sunZenithDeg: zenithDeg,
      sunAzimuthDeg: sun.azimuthDeg,
      tiltDeg: panel.tiltDeg,
      azimuthDeg: panel.azimuthDeg,
    }),
  );
  const tilt = Math.cos((panel.tiltDeg * Math.PI) / 180);
  const kept = beamKept(sun.azimuthDeg);
  const planeWm2 =
    beamNormalWm2 * onPanel * kept +
    diffuseWm2 * ((1 + tilt) / 2) * (0.6 + 0.4 * kept) +
    levelWm2 * 0.2 * ((1 - tilt) / 2);
  return { planeWm2, levelWm2, sunUp: true };
}
