import {
  DEFAULT_ALBEDO,
  diffuseModifiers,
  incidenceCosine,
  incidenceModifier,
  type Irradiance,
  planeOfArray,
} from '@duskline/energy';

const GRID_DEG = 10;
/**
 * Light from the whole sky against that of a clean one, fitted beside the facing: haze widens the day's curve as a flatter panel
 * would. From a mountain's air to a hot, dusty summer. Assumption, no source.
 */
const HAZE = [0.7, 4] as const;

/** An hour of sun, and what the panel gave in it. */
export interface SunHour {
  readonly powerW: number;
  readonly sun: { readonly zenithDeg: number; readonly azimuthDeg: number };
  readonly sky: Irradiance;
  readonly extraterrestrialWm2: number;
}

export interface Facing {
  readonly tiltDeg: number;
  readonly azimuthDeg: number;
}

/** The tilt and azimuth that follow the hours best: on a grid of ten degrees, then by halving steps to one. */
export const bestFacing = (hours: readonly SunHour[]): Facing => refined(hours, bestOfGrid(hours));

export const misfit = (hours: readonly SunHour[], facing: Facing): number =>
  fitOf(hours, facing).misfit;

/**
 * Least squares of power over the sun's own light and that of sky and ground, the second within HAZE times the first.
 *
 * @returns misfit: root of the squared misfit over the squared power, 0 = follows every hour; haze: light of the whole sky over that of
 *          a clean one; scaleW: the power for each 1000 W/m² that a clean sky would send onto a panel facing so
 */
export function fitOf(
  hours: readonly SunHour[],
  facing: Facing,
): { readonly misfit: number; readonly haze: number; readonly scaleW: number } {
  const modifiers = diffuseModifiers(facing.tiltDeg);
  let [pp, pd, ps, dd, ds, ss, direct, spread] = [0, 0, 0, 0, 0, 0, 0, 0];
  for (const hour of hours) {
    const light = lightOn(hour, facing, modifiers);
    const { powerW } = hour;
    pp += powerW * powerW;
    pd += powerW * light.directWm2;
    ps += powerW * light.spreadWm2;
    dd += light.directWm2 ** 2;
    ds += light.directWm2 * light.spreadWm2;
    ss += light.spreadWm2 ** 2;
    direct += light.directWm2;
    spread += light.spreadWm2;
  }
  const least = pd * ss - ps * ds;
  const wanted = least > 0 ? (ps * dd - pd * ds) / least : HAZE[1];
  const haze = Math.min(HAZE[1], Math.max(HAZE[0], wanted));
  const explained = pd + haze * ps;
  const model = dd + 2 * haze * ds + haze * haze * ss;
  if (pp === 0 || model === 0) return { misfit: 1, haze, scaleW: 0 };
  return {
    misfit: Math.sqrt(Math.max(0, 1 - (explained * explained) / (pp * model))),
    haze,
    scaleW: ((1000 * explained) / model) * ((direct + haze * spread) / (direct + spread)),
  };
}

function lightOn(
  { sun, sky, extraterrestrialWm2 }: SunHour,
  facing: Facing,
  modifiers: ReturnType<typeof diffuseModifiers>,
): { readonly directWm2: number; readonly spreadWm2: number } {
  const plane = planeOfArray({
    sun,
    surface: facing,
    ...sky,
    extraterrestrialWm2,
    albedo: DEFAULT_ALBEDO,
  });
  const cosine = incidenceCosine({
    sunZenithDeg: sun.zenithDeg,
    sunAzimuthDeg: sun.azimuthDeg,
    ...facing,
  });
  const incidenceDeg = (Math.acos(Math.min(1, Math.max(-1, cosine))) * 180) / Math.PI;
  return {
    directWm2: (plane.beamWm2 + plane.circumsolarWm2) * incidenceModifier(incidenceDeg),
    spreadWm2:
      (plane.skyWm2 - plane.circumsolarWm2) * modifiers.sky + plane.groundWm2 * modifiers.ground,
  };
}

function bestOfGrid(hours: readonly SunHour[]): Facing {
  let best: Facing = { tiltDeg: 0, azimuthDeg: 180 };
  let least = misfit(hours, best);
  for (let tiltDeg = GRID_DEG; tiltDeg <= 90; tiltDeg += GRID_DEG)
    for (let azimuthDeg = 0; azimuthDeg < 360; azimuthDeg += GRID_DEG) {
      const fit = misfit(hours, { tiltDeg, azimuthDeg });
      if (fit < least) {
        least = fit;
        best = { tiltDeg, azimuthDeg };
      }
    }
  return best;
}

function refined(hours: readonly SunHour[], from: Facing): Facing {
  let best = from;
  let least = misfit(hours, best);
  for (let step = GRID_DEG / 2; step >= 1; step /= 2) {
    for (let round = 0; round < 20; round++) {
      const moves = neighbours(best, step).map((facing) => ({
        facing,
        fit: misfit(hours, facing),
      }));
      const better = moves.reduce((a, b) => (b.fit < a.fit ? b : a));
      if (better.fit >= least) break;
      best = better.facing;
      least = better.fit;
    }
  }
  return best;
}

const neighbours = ({ tiltDeg, azimuthDeg }: Facing, step: number): readonly Facing[] =>
  [
    [step, 0],
    [-step, 0],
    [0, step],
    [0, -step],
  ].map(([tilt, azimuth]) => ({
    tiltDeg: Math.min(90, Math.max(0, tiltDeg + tilt!)),
    azimuthDeg: (azimuthDeg + azimuth! + 360) % 360,
  }));

/** How far an angle can be turned either way before the fit is too bad, degrees. */
export function reach(
  hours: readonly SunHour[],
  best: Facing,
  worst: number,
  angle: keyof Facing,
): number {
  for (let turn = 2; turn <= 90; turn += 2) {
    const isWorse = [turn, -turn].every(
      (by) => misfit(hours, { ...best, [angle]: best[angle] + by }) > worst,
    );
    if (isWorse) return turn;
  }
  return 90;
}
