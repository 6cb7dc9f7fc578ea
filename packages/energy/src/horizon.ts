import { cosDeg, sinDeg } from './angle.ts';
import { EnergyInputError } from './errors.ts';

/** What stands around a panel: how high the skyline is at some azimuths. Order and number are free; none means level. */
export type Horizon = readonly {
  /** From north, clockwise. */
  readonly azimuthDeg: number;
  /** Above the level, 0 … 90. */
  readonly heightDeg: number;
}[];

const turned = (angleDeg: number): number => ((angleDeg % 360) + 360) % 360;

/**
 * Puts a skyline in order once, for the many look-ups of a chain.
 *
 * @returns height in degrees at an azimuth, straight between the neighbouring points around the circle; 0 without points
 * @throws EnergyInputError when an azimuth is not finite or a height is outside 0 … 90
 * @source ours
 */
export function horizonHeight(horizon: Horizon): (azimuthDeg: number) => number {
  for (const [index, point] of horizon.entries()) {
    if (!Number.isFinite(point.azimuthDeg)) {
      throw new EnergyInputError(
        `horizon[${index}].azimuthDeg`,
        point.azimuthDeg,
        'a finite number',
      );
    }
    if (!(point.heightDeg >= 0 && point.heightDeg <= 90)) {
      throw new EnergyInputError(`horizon[${index}].heightDeg`, point.heightDeg, '0 to 90');
    }
  }
  const points = horizon
    .map((point) => ({ azimuthDeg: turned(point.azimuthDeg), heightDeg: point.heightDeg }))
    .sort((a, b) => a.azimuthDeg - b.azimuthDeg);
  const last = points.at(-1);
  const first = points[0];
  if (first === undefined || last === undefined) return () => 0;
  const ring = [
    { ...last, azimuthDeg: last.azimuthDeg - 360 },
    ...points,
    { ...first, azimuthDeg: first.azimuthDeg + 360 },
  ];
  return (azimuthDeg) => {
    const at = turned(azimuthDeg);
    const above = ring.findIndex((point) => point.azimuthDeg >= at);
    const high = ring[above]!;
    const low = ring[above - 1] ?? high;
    const width = high.azimuthDeg - low.azimuthDeg;
    if (width === 0) return high.heightDeg;
    return low.heightDeg + ((high.heightDeg - low.heightDeg) * (at - low.azimuthDeg)) / width;
  };
}

const AZIMUTH_STEP_DEG = 2;
const HEIGHT_STEP_DEG = 1;

/**
 * How much of the even sky's light a panel still sees over a skyline.
 *
 * @param horizon  as `horizonHeight`
 * @param surface  tilt and azimuth of the panel, degrees
 * @returns share of what it would see with a level horizon, 0 … 1
 * @throws EnergyInputError as `horizonHeight`
 * @accuracy 0.005 against the closed form of a level panel in a ring wall, horizon.test.ts
 * @source definition: the even sky integrated with the cosine of incidence, midpoint rule
 */
export function skyViewRatio(
  horizon: Horizon,
  surface: { readonly tiltDeg: number; readonly azimuthDeg: number },
): number {
  if (horizon.length === 0) return 1;
  const heightAt = horizonHeight(horizon);
  let seen = 0;
  let whole = 0;
  for (let azimuth = AZIMUTH_STEP_DEG / 2; azimuth < 360; azimuth += AZIMUTH_STEP_DEG) {
    const skylineDeg = heightAt(azimuth);
    const facing = sinDeg(surface.tiltDeg) * cosDeg(azimuth - surface.azimuthDeg);
    for (let height = HEIGHT_STEP_DEG / 2; height < 90; height += HEIGHT_STEP_DEG) {
      const towards = sinDeg(height) * cosDeg(surface.tiltDeg) + cosDeg(height) * facing;
      const light = Math.max(0, towards) * cosDeg(height);
      whole += light;
      if (height >= skylineDeg) seen += light;
    }
  }
  return whole === 0 ? 0 : seen / whole;
}
